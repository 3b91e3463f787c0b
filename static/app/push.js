/** Bringing what waits to the practice: used by the page and by the service worker, so it knows no screen. */
import { deviceState, takeNewName, takeReceipt } from './journal.js';
import { envelopeOf } from './shelf.js';
import { base64 } from './vault.js';
import { LIMIT_MS, PROTOCOL, SLOWEST_BYTES_PER_MS, WireProblem, acknowledgement, batch, request } from './wire.js';
import { pendingRows } from './waiting.js';

export const MOST = 1000;
/** The first batch; each that goes quickly is followed by one of twice its size. */
const FIRST = 200;
/** So many are read from the storage at once: one large reading costs less than several small ones. */
const AHEAD = 2 * MOST;
const MOST_SEALED = 100;
/** A request that took this long, well or badly, says that the line is slow: the next carries less. */
export const SLOW_MS = 7000;

/** @typedef {import('./types').Acknowledged} Acknowledged */
/** @typedef {import('./types').Row} Row */
/** @typedef {Map<string, 'too_large' | 'damaged'>} Left ids that cannot go in this round; what stands behind them does */

/** How much goes at once, as the line carried it so far in this window's life. */
let pace = FIRST;

/** @typedef {import('./waiting.js').Place} Place */
/** @typedef {{path: string, places: Place[], body: {device: string} & Record<string, any>}} Batch */

/**
 * @typedef {object} Way what is sent, and how it is told
 * @property {string} token
 * @property {(skip: number) => Promise<Row[]>} waiting the next rows, and as many more as were left behind
 * @property {(rows: Row[], left: Left) => Promise<Batch | null>} make of rows of one device; null when none of them can go
 * @property {(number: number, size: number) => void} onBatch before each batch
 * @property {(receipt: Acknowledged) => Promise<void>} onReceipt after each is kept
 */

/**
 * Send until nothing waits. @param {string} token @param {Way['onBatch']} onBatch @param {Way['onReceipt']} onReceipt
 * @throws {WireProblem}
 */
export async function pushAll(token, onBatch, onReceipt) {
  await inBatches({ token, onBatch, onReceipt, waiting: (skip) => pendingRows(AHEAD + skip), make: makeOpen });
}

/**
 * What lies sealed goes as it is; the practice holds the other key.
 * @param {string} token @param {string} wrapped_key the data key as the practice can open it
 * @param {Way['onBatch']} onBatch @param {Way['onReceipt']} onReceipt @throws {WireProblem}
 */
export async function pushSealed(token, wrapped_key, onBatch, onReceipt) {
  await inBatches({
    token, onBatch, onReceipt,
    waiting: (skip) => pendingRows(AHEAD + skip),
    make: async (rows, left) => {
      const own = rows.filter((row) => row.sealed).slice(0, MOST_SEALED);
      // The PIN was set and sealing was interrupted: these still lie open.
      if (!own.length) return makeOpen(rows, left);
      const body = { protocol: PROTOCOL, device: own[0].device, wrapped_key, sealed: own.map(sealedOf) };
      return { path: '/api/journal/sealed', places: own, body };
    },
  });
}

/** A sealed row as it travels. @param {Row} row */
export function sealedOf(row) {
  return { id: row.id, iv: base64(row.sealed?.iv || new Uint8Array()), data: base64(row.sealed?.data || new Uint8Array()) };
}

/** @param {Row[]} rows @param {Left} left @returns {Promise<Batch | null>} */
async function makeOpen(rows, left) {
  const part = batch(await openAll(rows, left), MOST);
  if (!part.length) return null;
  const entries = part.map(({ header, body }) => ({ header, body }));
  const taken = new Set(part.map(({ id }) => id));
  const places = rows.filter(({ id }) => taken.has(id));
  return { path: '/api/journal', places, body: { protocol: PROTOCOL, device: rows[0].device, entries } };
}

/** What cannot go is left behind and told at the end, never in the way of the others. @param {Way} way */
async function inBatches({ token, waiting, make, onBatch, onReceipt }) {
  /** @type {Left} */
  const left = new Map();
  const sameStore = oneStoreOnly();
  let fits = MOST;
  /** @type {Row[]} */
  let ahead = [];
  for (let number = 1; ; number += 1) {
    if (!ahead.length) ahead = (await waiting(left.size)).filter((row) => !left.has(row.id));
    const rows = sameDevice(ahead).slice(0, Math.min(fits, pace));
    if (!rows.length) break;
    onBatch(number, rows.length);
    const made = await make(rows, left);
    ahead = ahead.filter((row) => !left.has(row.id));
    if (!made) continue;
    try {
      const receipt = await sendOne(token, made);
      const sent = new Set(made.places.map(({ id }) => id));
      ahead = ahead.filter((row) => !sent.has(row.id));
      sameStore(receipt);
      await onReceipt(receipt);
    } catch (error) {
      if (!(error instanceof WireProblem) || error.what !== 'too_large') throw error;
      if (made.places.length === 1) left.set(made.places[0].id, 'too_large');
      else fits = Math.ceil(made.places.length / 2);
      ahead = ahead.filter((row) => !left.has(row.id));
    }
  }
  if (left.size) throw leftBehind(left);
}

/** Rows of one name of this phone, the first one's. @param {Row[]} rows */
function sameDevice(rows) {
  return rows.filter((row) => row.device === rows[0].device);
}

/** @param {Row[]} rows @param {Left} left */
async function openAll(rows, left) {
  const opened = [];
  for (const row of rows) {
    try {
      opened.push({ id: row.id, ...(await envelopeOf(row)) });
    } catch (error) {
      // AES-GCM refuses bytes that are not what was sealed; a phone that was locked meanwhile is another matter.
      if (!(error instanceof DOMException) || error.name !== 'OperationError') throw error;
      left.set(row.id, 'damaged');
    }
  }
  return opened;
}

/** @param {string} token @param {Batch} made @returns {Promise<Acknowledged>} */
async function sendOne(token, { path, places, body }) {
  const begun = performance.now();
  const bytes = places.length === 1 ? JSON.stringify(body).length : 0;
  try {
    const answer = await request(path, token, body, {}, LIMIT_MS + bytes / SLOWEST_BYTES_PER_MS);
    const receipt = await keep(acknowledgement(answer, body.device, places.map(({ id }) => id)), places);
    if (performance.now() - begun < SLOW_MS) pace = Math.min(MOST, pace * 2);
    return receipt;
  } catch (error) {
    const slow = error instanceof WireProblem && error.what === 'offline' && performance.now() - begun >= SLOW_MS;
    if (slow) pace = Math.ceil(places.length / 2);
    throw error;
  }
}

/** Two stores that answer in turn would each ask for everything again, without end. @returns {(receipt: Acknowledged) => void} */
function oneStoreOnly() {
  let last = '';
  let changes = 0;
  return ({ store_id }) => {
    if (last && last !== store_id) changes += 1;
    last = store_id;
    if (changes > 1) throw new WireProblem('strange', 'Different practices answer at this address in turn: kept here, tried again.');
  };
}

/** @param {Left} left */
function leftBehind(left) {
  const large = [...left.values()].filter((why) => why === 'too_large').length;
  const damaged = left.size - large;
  const words = [
    large ? `${large} ${large === 1 ? 'entry is' : 'entries are'} too large for the practice` : '',
    damaged ? `${damaged} ${damaged === 1 ? 'entry is' : 'entries are'} damaged in this phone's storage and cannot be opened` : '',
  ].filter(Boolean).join('; ');
  return new WireProblem('not_taken', `${words}: kept here, all others were sent. Give a copy to the desk.`, large ? 'too_large' : 'damaged');
}

/** Nothing to send, but what does the practice hold? @param {string} token @returns {Promise<Acknowledged>} */
export async function askReceipt(token) {
  const { device } = await deviceState();
  const answer = await request('/api/journal', token, { protocol: PROTOCOL, device, entries: [] });
  return keep(acknowledgement(answer, device, []), []);
}

/** Take the receipt's word, and draw from it what has to be sent again. @param {Acknowledged} receipt @param {Place[]} sent */
async function keep(receipt, sent) {
  const { device } = await deviceState();
  const { store_id, through, held } = receipt;
  const current = receipt.device === device;
  const taken = new Set(receipt.acknowledged);
  await takeReceipt(store_id, sent.filter(({ id }) => taken.has(id)), current ? { store_id, device, through, held, at: new Date().toISOString() } : null);
  if (current && receipt.clone) await takeNewName(device, receipt.branch);
  if (sent.length && !receipt.acknowledged.length) {
    throw new WireProblem('strange', 'The practice acknowledged none of the entries: kept here, tried again.');
  }
  return receipt;
}
