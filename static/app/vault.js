/**
 * Sealing at rest. A random data key seals every entry; the PIN wraps that key, and so does the practice's
 * public key, so that a forgotten PIN loses nothing. The PIN and the key itself are never stored.
 * While an exam is open the (non-extractable) key may wait in storage: a killed browser must not put a PIN
 * between the probe and the exam.
 */
import { getDraft, getMeta, setDraft, setMeta } from './db.js';

export const ITERATIONS = 600000;
export const MOST_WRONG = 10;

/** @typedef {{salt: Uint8Array<ArrayBuffer>, iterations: number, iv: Uint8Array<ArrayBuffer>, wrapped: ArrayBuffer, server_wrapped: string, wrong: number}} Lock */
/** @typedef {{iv: Uint8Array<ArrayBuffer>, data: ArrayBuffer}} Sealed */

/** @type {CryptoKey | null} */
let dataKey = null;
/** @type {Lock | null} */
let lock = null;

/** Read the lock; with an open exam the waiting key opens it. @returns {Promise<'none' | 'open' | 'locked' | 'blocked'>} */
export async function wakeVault() {
  lock = (await getMeta('lock')) || null;
  if (!lock) return 'none';
  if (!dataKey) dataKey = (await getDraft('held_key')) || null;
  return stateOfVault();
}

/** @returns {'none' | 'open' | 'locked' | 'blocked'} */
export function stateOfVault() {
  if (!lock) return 'none';
  if (dataKey) return 'open';
  return lock.wrong >= MOST_WRONG ? 'blocked' : 'locked';
}

export function triesLeft() {
  return lock ? MOST_WRONG - lock.wrong : MOST_WRONG;
}

/** The data key as the practice can open it, for a sealed journal. */
export function serverWrapped() {
  return lock ? lock.server_wrapped : null;
}

/** @param {string} pin @returns {boolean} */
export function pinIsSound(pin) {
  return /^[0-9]{4,8}$/.test(pin);
}

/**
 * Make a lock with a new data key. The caller seals what lies open.
 * @param {string} pin @param {JsonWebKey} serverKey
 */
export async function makeLock(pin, serverKey) {
  const raw = crypto.getRandomValues(new Uint8Array(32));
  const server_wrapped = await wrapForServer(raw, serverKey);
  lock = { ...(await wrapByPin(pin, raw)), server_wrapped, wrong: 0 };
  await setMeta('lock', lock);
  dataKey = await importDataKey(raw);
  raw.fill(0);
}

/**
 * @param {string} pin
 * @returns {Promise<'open' | 'wrong' | 'blocked'>} every wrong try is counted in storage before the answer is known
 */
export async function unlock(pin) {
  const raw = await rawKey(pin);
  if (!raw) return lock && lock.wrong < MOST_WRONG ? 'wrong' : 'blocked';
  dataKey = await importDataKey(raw);
  raw.fill(0);
  return 'open';
}

/**
 * The same data key behind another PIN; nothing is sealed anew.
 * @param {string} before @param {string} pin @returns {Promise<'changed' | 'wrong' | 'blocked'>}
 */
export async function changePin(before, pin) {
  const raw = await rawKey(before);
  if (!raw || !lock) return lock && lock.wrong < MOST_WRONG ? 'wrong' : 'blocked';
  const next = { ...lock, ...(await wrapByPin(pin, raw)), wrong: 0 };
  raw.fill(0);
  await setMeta('lock', next);
  lock = next;
  return 'changed';
}

/** The data key's bytes behind the PIN, or null for a wrong one (counted). @param {string} pin */
async function rawKey(pin) {
  const held = lock;
  if (!held || held.wrong >= MOST_WRONG) return null;
  await count(held, held.wrong + 1);
  try {
    const key = await pinKey(pin, held.salt, held.iterations);
    const raw = new Uint8Array(await crypto.subtle.decrypt({ name: 'AES-GCM', iv: held.iv }, key, held.wrapped));
    await count(held, 0);
    return raw;
  } catch (error) {
    // AES-GCM refuses a wrong key with OperationError; anything else is no matter of the PIN.
    if (!(error instanceof DOMException) || error.name !== 'OperationError') throw error;
    return null;
  }
}

/** @param {Lock} held @param {number} wrong */
async function count(held, wrong) {
  held.wrong = wrong;
  await setMeta('lock', held);
}

/** Forget the key until the PIN comes again. */
export async function shut() {
  if (!lock) return;
  dataKey = null;
  await setDraft('held_key', null);
}

/** An exam was opened (the key may wait) or closed (it may not). @param {boolean} open */
export async function holdForExam(open) {
  if (!lock || !dataKey) return;
  await setDraft('held_key', open ? dataKey : null);
}

/** In memory only: the storage was cleared. */
export function forgetVault() {
  lock = null;
  dataKey = null;
}

/** Begin again after the sealed entries went to the practice: the old key is gone for good. */
export async function dropLock() {
  forgetVault();
  await setDraft('held_key', null);
  await setMeta('lock', null);
}

/** @param {string} id @param {import('./types').Envelope} envelope @returns {Promise<Sealed>} */
export async function sealEnvelope(id, { header, body }) {
  if (!dataKey) throw new Error('the phone is locked');
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const plain = new TextEncoder().encode(JSON.stringify({ header, body }));
  const data = await crypto.subtle.encrypt({ name: 'AES-GCM', iv, additionalData: bytesOf(id) }, dataKey, plain);
  return { iv, data };
}

/** @param {string} id @param {Sealed} sealed @returns {Promise<import('./types').Envelope>} */
export async function openEnvelope(id, { iv, data }) {
  if (!dataKey) throw new Error('the phone is locked');
  const plain = await crypto.subtle.decrypt({ name: 'AES-GCM', iv, additionalData: bytesOf(id) }, dataKey, data);
  return JSON.parse(new TextDecoder().decode(plain));
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

/** @param {Uint8Array<ArrayBuffer>} raw @param {JsonWebKey} serverKey RSA-OAEP-256 */
async function wrapForServer(raw, serverKey) {
  const key = await crypto.subtle.importKey('jwk', serverKey, { name: 'RSA-OAEP', hash: 'SHA-256' }, false, ['encrypt']);
  return base64(await crypto.subtle.encrypt({ name: 'RSA-OAEP' }, key, raw));
}

/** @param {ArrayBuffer | Uint8Array} bytes */
export function base64(bytes) {
  let text = '';
  for (const byte of new Uint8Array(bytes)) text += String.fromCharCode(byte);
  return btoa(text);
}
