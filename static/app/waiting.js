/**
 * What of this phone's own entries waits to be sent: the places (device, seq) in a store of their own, each with its
 * entry's id. An acknowledgement takes places away and leaves the entries as they lie, so it costs next to nothing.
 */
import { transaction } from './db.js';

export const WAITING = 'waiting';

/** @typedef {import('./types').Row} Row */
/** @typedef {Pick<Row, 'id' | 'device' | 'seq'>} Place */

/** This entry waits from now on. @param {any} tx @param {Place} place */
export function wait(tx, { id, device, seq }) {
  return tx.objectStore(WAITING).put(id, [device, seq]);
}

/** How many wait, of all names of this phone or of one. @param {any} tx @param {string} [device] @returns {Promise<number>} */
export function count(tx, device) {
  return tx.objectStore(WAITING).count(device === undefined ? undefined : of(device));
}

/** The ids of all that wait. @param {any} tx @returns {Promise<string[]>} */
export function ids(tx) {
  return tx.objectStore(WAITING).getAll();
}

/** The row that waits longest under a name. @param {any} tx @param {string} device @returns {Promise<Row | undefined>} */
export async function first(tx, device) {
  const [id] = await tx.objectStore(WAITING).getAll(of(device), 1);
  return id === undefined ? undefined : tx.objectStore('entries').get(id);
}

/** Entries of this phone that wait to be sent, each name's by seq. @param {number} [limit] @returns {Promise<Row[]>} */
export async function pendingRows(limit) {
  return transaction(['entries', WAITING], 'readonly', async (tx) => {
    const store = tx.objectStore(WAITING);
    return rowsAt(tx, await store.getAllKeys(null, limit), await store.getAll(null, limit));
  });
}

/**
 * Rows one after the other, as they mostly wait, are read in one go: hundreds asked for singly take several times as long.
 * @param {any} tx @param {[string, number][]} keys in order @param {string[]} names their ids @returns {Promise<Row[]>}
 */
async function rowsAt(tx, keys, names) {
  const store = tx.objectStore('entries');
  const from = keys[0];
  const to = keys[keys.length - 1];
  const dense = keys.length > 1 && from[0] === to[0] && to[1] - from[1] < 2 * keys.length;
  if (!dense) return singly(store, names);
  const wanted = new Set(names);
  // Another phone under this one's name (a copy) may have written at the same places: its entries are not ours to send.
  const near = /** @type {Row[]} */ (await store.index('device').getAll(IDBKeyRange.bound(from, to)));
  return near.filter((row) => wanted.has(row.id));
}

/** @param {any} store @param {string[]} names @returns {Promise<Row[]>} */
async function singly(store, names) {
  const rows = [];
  for (const id of names) {
    const row = await store.get(id);
    if (row) rows.push(row);
  }
  return rows;
}

/** The practice holds these. @param {any} tx @param {Place[]} places */
export async function settle(tx, places) {
  const store = tx.objectStore(WAITING);
  for (const [from, to] of runs(places)) await store.delete(IDBKeyRange.bound([from.device, from.seq], [to.device, to.seq]));
}

/** First and last of each run of places that follow each other. @param {Place[]} places @returns {[Place, Place][]} */
function runs(places) {
  /** @type {[Place, Place][]} */
  const made = [];
  for (const place of places) {
    const run = made[made.length - 1];
    if (run && run[1].device === place.device && run[1].seq + 1 === place.seq) run[1] = place;
    else made.push([place, place]);
  }
  return made;
}

/** Own entries that wait again. @param {any} tx @param {(row: Row) => boolean} wanted */
export async function waitAgain(tx, wanted) {
  for (const row of await tx.objectStore('entries').getAll()) {
    // A row that can no longer be opened is at the practice; only a sealed push could carry it, and its key is gone.
    if (row.own && !row.closed && wanted(row)) await wait(tx, row);
  }
}

/** @param {string} device */
function of(device) {
  return IDBKeyRange.bound([device, 0], [device, Infinity]);
}
