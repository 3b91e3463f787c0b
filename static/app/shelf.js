/**
 * The entries in memory, opened. Lookups read here, whether the rows lie sealed in storage or not; what another
 * window or the sync added is fetched by its id before each lookup.
 */
import { transaction } from './db.js';
import { entryOf } from './entry.js';
import { isReadable, openEnvelope, PhoneLocked } from './vault.js';

/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./types').Row} Row */

/** @type {Map<string, Entry>} */
const entries = new Map();
/** Ids whose rows this window cannot show: damaged, or sealed with a key that is gone. @type {Set<string>} */
const passedOver = new Set();

/** The envelope of a row. @param {Row} row @returns {Promise<import('./types').Envelope>} */
export async function envelopeOf(row) {
  if (row.sealed) return openEnvelope(row.id, row.sealed);
  return { header: row.header || '', body: row.body || '' };
}

/** @param {Entry[]} fresh that were just stored */
export function put(fresh) {
  for (const entry of fresh) {
    entries.set(entry.id, entry);
    passedOver.delete(entry.id);
  }
}

/** These have left the phone. @param {string[]} ids */
export function forget(ids) {
  for (const id of ids) {
    entries.delete(id);
    passedOver.delete(id);
  }
}

/** Nothing stays in memory when the phone is locked. */
export function clear() {
  entries.clear();
  passedOver.clear();
}

/** The fetching before this one: two at once would each read and open the same rows. @type {Promise<void>} */
let last = Promise.resolve();

/** Fetch rows that are not here yet. @returns {Promise<void>} */
export function catchUp() {
  const turn = last.then(fetchMissing);
  last = turn.catch(() => undefined);
  return turn;
}

async function fetchMissing() {
  const ids = await transaction(['entries'], 'readonly', (tx) => tx.objectStore('entries').getAllKeys());
  const missing = ids.filter((/** @type {string} */ id) => !entries.has(id) && !passedOver.has(id));
  if (entries.size + passedOver.size > ids.length - missing.length) await forgetTidied();
  if (!missing.length) return;
  const rows = await transaction(['entries'], 'readonly', async (tx) => {
    const store = tx.objectStore('entries');
    if (missing.length > ids.length / 2) return store.getAll();
    return Promise.all(missing.map((/** @type {string} */ id) => store.get(id)));
  });
  await Promise.all(rows.filter((/** @type {Row | undefined} */ row) => row && !entries.has(row.id)).map(take));
}

/** What another window let leave the phone (cleanup.js) stays here no longer. A storage that was emptied is none that was tidied. */
async function forgetTidied() {
  const held = [...entries.keys(), ...passedOver]; // before storage is asked: what is put meanwhile is not in its answer
  const [ids, day] = await transaction(['entries', 'meta'], 'readonly', (tx) => Promise.all([tx.objectStore('entries').getAllKeys(), tx.objectStore('meta').get('tidied')]));
  const stored = new Set(ids);
  if (day) forget(held.filter((id) => !stored.has(id)));
}

/** @param {Row} row */
async function take(row) {
  if (row.damaged || row.closed) {
    passedOver.add(row.id);
    return;
  }
  const envelope = await envelopeOf(row);
  if (!isReadable()) throw new PhoneLocked(); // it locked meanwhile
  entries.set(row.id, entryOf(row.id, envelope));
}

/** @param {(entry: Entry) => boolean} wanted @returns {Promise<Entry[]>} */
export async function find(wanted) {
  await catchUp();
  return [...entries.values()].filter(wanted);
}
