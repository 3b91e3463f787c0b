/**
 * Sealing at rest. A random data key seals every entry; the PIN wraps that key, and so does the practice's
 * public key, so that a forgotten PIN loses nothing. The PIN and the key itself are never stored.
 * While an exam is in hand the (non-extractable) key may wait in storage: a killed browser must not put a PIN
 * between the probe and the exam.
 *
 * Other windows share the storage, not this memory: what is counted or changed is read there first, in one transaction.
 */
import { getDraft, getMeta, setDraft, transaction } from './db.js';
import { newDeviceId } from './entry.js';

export const ITERATIONS = 600000;
export const MOST_WRONG = 10;

/**
 * @typedef {object} Lock
 * @property {Uint8Array<ArrayBuffer>} salt
 * @property {number} iterations
 * @property {Uint8Array<ArrayBuffer>} iv
 * @property {ArrayBuffer} wrapped the data key, by the PIN
 * @property {string} name of this data key; the PIN and the practice's key may change around it
 * @property {string} server_wrapped the data key, by the practice's public key
 * @property {string} [kid] which key of the practice
 * @property {number} wrong tries since the last right one
 * @property {1} [unsealed] rows may still lie open: the PIN was set and sealing was interrupted
 */
/** @typedef {{iv: Uint8Array<ArrayBuffer>, data: ArrayBuffer}} Sealed */
/** @typedef {'none' | 'open' | 'locked' | 'blocked'} Standing */

/** @type {CryptoKey | null} */
let dataKey = null;
/** @type {Lock | null} */
let lock = null;

/** Asked for what is sealed while the key is not here. */
export class PhoneLocked extends Error {
  constructor() {
    super('The phone is locked: the PIN comes first.');
  }
}

/** Read the lock as it lies in storage; with an exam in hand the waiting key opens it. @returns {Promise<Standing>} */
export async function wakeVault() {
  const before = lock;
  lock = (await getMeta('lock')) || null;
  if (!lock || (before && before.name !== lock.name)) dataKey = null;
  if (lock && !dataKey) dataKey = (await getDraft('held_key')) || null;
  return stateOfVault();
}

/** @returns {Standing} */
export function stateOfVault() {
  if (!lock) return 'none';
  if (dataKey) return 'open';
  return lock.wrong >= MOST_WRONG ? 'blocked' : 'locked';
}

/** Whether this window knows the lock that lies in storage (or that there is none). @param {Lock | undefined} there */
export function knows(there) {
  return there ? lock !== null && there.name === lock.name : !lock;
}

/** Whether entries can be read (and written) here at this moment. */
export function isReadable() {
  return !lock || dataKey !== null;
}

export function triesLeft() {
  return lock ? Math.max(0, MOST_WRONG - lock.wrong) : MOST_WRONG;
}

/** The data key as the practice can open it, for a sealed journal. */
export function serverWrapped() {
  return lock ? lock.server_wrapped : null;
}

/** Whether rows may lie open although there is a PIN. */
export function sealingWasInterrupted() {
  return Boolean(lock?.unsealed);
}

/** Every row is sealed now. */
export async function sealingIsDone() {
  await changeLock((now) => ({ ...now, unsealed: undefined }));
}

/** @param {string} pin @returns {boolean} */
export function pinIsSound(pin) {
  return /^[0-9]{4,8}$/.test(pin);
}

/**
 * Make a lock with a new data key. The caller seals what lies open.
 * @param {string} pin @param {JsonWebKey & {kid?: string}} serverKey
 * @returns {Promise<boolean>} false: another window was first, and its PIN holds
 */
export async function makeLock(pin, serverKey) {
  const raw = crypto.getRandomValues(new Uint8Array(32));
  /** @type {Lock} */
  const made = { name: newDeviceId(), ...(await wrapByPin(pin, raw)), ...(await wrapForServer(raw, serverKey)), wrong: 0, unsealed: 1 };
  const key = await importDataKey(raw);
  raw.fill(0);
  const first = await transaction(['meta'], 'readwrite', async (tx) => {
    const meta = tx.objectStore('meta');
    if (await meta.get('lock')) return false;
    await meta.put(made, 'lock');
    return true;
  });
  if (!first) return false;
  lock = made;
  dataKey = key;
  return true;
}

/**
 * @param {string} pin @param {(JsonWebKey & {kid?: string}) | null} [serverKey] of the practice this phone belongs to now
 * @returns {Promise<'open' | 'wrong' | 'blocked'>} every wrong try is counted in storage before the answer is known
 */
export async function unlock(pin, serverKey = null) {
  const raw = await rawKey(pin);
  if (!raw) return refusal();
  dataKey = await importDataKey(raw);
  if (serverKey?.kid && serverKey.kid !== lock?.kid) {
    const anew = await wrapForServer(raw, serverKey);
    await changeLock((now) => ({ ...now, ...anew }));
  }
  raw.fill(0);
  return 'open';
}

/**
 * The same data key behind another PIN; nothing is sealed anew.
 * @param {string} before @param {string} pin @returns {Promise<'changed' | 'wrong' | 'blocked'>}
 */
export async function changePin(before, pin) {
  const raw = await rawKey(before);
  if (!raw) return refusal();
  const other = await wrapByPin(pin, raw);
  raw.fill(0);
  await changeLock((now) => ({ ...now, ...other, wrong: 0 }));
  return 'changed';
}

/** @returns {'wrong' | 'blocked'} */
function refusal() {
  return lock && lock.wrong < MOST_WRONG ? 'wrong' : 'blocked';
}

/** The data key's bytes behind the PIN, or null for a wrong one (counted). @param {string} pin */
async function rawKey(pin) {
  const before = (await getMeta('lock')) || null;
  const tried = await changeLock((now) => (now.wrong >= MOST_WRONG ? null : { ...now, wrong: now.wrong + 1 }), before);
  if (!tried) return null;
  const raw = await unwrapped(pin, tried);
  if (raw) await changeLock((now) => ({ ...now, wrong: 0 }), tried);
  return raw;
}

/** @param {string} pin @param {Lock} held */
async function unwrapped(pin, held) {
  try {
    const key = await pinKey(pin, held.salt, held.iterations);
    return new Uint8Array(await crypto.subtle.decrypt({ name: 'AES-GCM', iv: held.iv }, key, held.wrapped));
  } catch (error) {
    // AES-GCM refuses a wrong key with OperationError; anything else is no matter of the PIN.
    if (!(error instanceof DOMException) || error.name !== 'OperationError') throw error;
    return null;
  }
}

/**
 * Change the lock where it lies, if it still holds the same data key. @param {(now: Lock) => Lock | null} change null: leave it
 * @param {Lock | null} [known] @returns {Promise<Lock | null>} what lies there now, null when nothing was changed
 */
async function changeLock(change, known = lock) {
  const { now, changed } = await transaction(['meta'], 'readwrite', async (tx) => {
    const meta = tx.objectStore('meta');
    const there = await meta.get('lock');
    const next = there && known && there.name === known.name ? change(there) : null;
    if (next) await meta.put(next, 'lock');
    return { now: next || there || null, changed: next };
  });
  lock = now;
  return changed;
}

/** Forget the key until the PIN comes again. @param {boolean} inHand an exam of another window may still need it */
export async function shut(inHand = false) {
  if (!lock) return;
  dataKey = null;
  if (!inHand) await setDraft('held_key', null);
}

/** An exam is in hand (the key may wait in storage) or not (it may not). @param {boolean} inHand */
export async function holdKey(inHand) {
  if (lock && dataKey) await setDraft('held_key', inHand ? dataKey : null);
}

/** In memory only: the storage was cleared, or the lock in it is gone. */
export function forgetVault() {
  lock = null;
  dataKey = null;
}

/** The key for another window of this app; it cannot be read out there either. */
export function keyForWindows() {
  return dataKey;
}

/** Take the key that the window gave which set the PIN. @param {CryptoKey} key */
export async function takeKey(key) {
  if ((await wakeVault()) === 'locked') dataKey = key;
}

/** @param {string} id @param {import('./types').Envelope} envelope @returns {Promise<Sealed>} @throws {PhoneLocked} */
export async function sealEnvelope(id, { header, body }) {
  return sealText(id, JSON.stringify({ header, body }));
}

/** @param {string} id @param {Sealed} sealed @returns {Promise<import('./types').Envelope>} @throws {PhoneLocked} */
export async function openEnvelope(id, sealed) {
  return JSON.parse(await openText(id, sealed));
}

/** @param {string} name bound to the text: one sealed for another name is not opened @param {string} text @returns {Promise<Sealed>} */
export async function sealText(name, text) {
  return sealBytes(name, bytesOf(text));
}

/** @param {string} name @param {Sealed} sealed */
export async function openText(name, sealed) {
  return new TextDecoder().decode(await openBytes(name, sealed));
}

/** @param {string} name @param {BufferSource} bytes @returns {Promise<Sealed>} @throws {PhoneLocked} */
export async function sealBytes(name, bytes) {
  if (!dataKey) throw new PhoneLocked();
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const data = await crypto.subtle.encrypt({ name: 'AES-GCM', iv, additionalData: bytesOf(name) }, dataKey, bytes);
  return { iv, data };
}

/** @param {string} name @param {Sealed} sealed @returns {Promise<ArrayBuffer>} @throws {PhoneLocked} */
export async function openBytes(name, { iv, data }) {
  if (!dataKey) throw new PhoneLocked();
  return crypto.subtle.decrypt({ name: 'AES-GCM', iv, additionalData: bytesOf(name) }, dataKey, data);
}

/** @param {string} text */
function bytesOf(text) {
  return new TextEncoder().encode(text);
}

/** @param {Uint8Array<ArrayBuffer>} raw */
function importDataKey(raw) {
  return crypto.subtle.importKey('raw', raw, 'AES-GCM', false, ['encrypt', 'decrypt']);
}

/** @param {string} pin @param {Uint8Array<ArrayBuffer>} salt @param {number} iterations */
async function pinKey(pin, salt, iterations) {
  const base = await crypto.subtle.importKey('raw', bytesOf(pin), 'PBKDF2', false, ['deriveKey']);
  const how = { name: 'PBKDF2', hash: 'SHA-256', salt, iterations };
  return crypto.subtle.deriveKey(how, base, { name: 'AES-GCM', length: 256 }, false, ['encrypt', 'decrypt']);
}

/** @param {string} pin @param {Uint8Array<ArrayBuffer>} raw */
async function wrapByPin(pin, raw) {
  const salt = crypto.getRandomValues(new Uint8Array(16));
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const key = await pinKey(pin, salt, ITERATIONS);
  const wrapped = await crypto.subtle.encrypt({ name: 'AES-GCM', iv }, key, raw);
  return { salt, iterations: ITERATIONS, iv, wrapped };
}

/** @param {Uint8Array<ArrayBuffer>} raw @param {JsonWebKey & {kid?: string}} serverKey RSA-OAEP-256 */
async function wrapForServer(raw, serverKey) {
  const key = await crypto.subtle.importKey('jwk', serverKey, { name: 'RSA-OAEP', hash: 'SHA-256' }, false, ['encrypt']);
  return { server_wrapped: base64(await crypto.subtle.encrypt({ name: 'RSA-OAEP' }, key, raw)), kid: serverKey.kid };
}

/** @param {ArrayBuffer | Uint8Array} bytes */
export function base64(bytes) {
  let text = '';
  for (const byte of new Uint8Array(bytes)) text += String.fromCharCode(byte);
  return btoa(text);
}
