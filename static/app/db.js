/**
 * The one owner of the IndexedDB connection. A handle may die at any time (memory pressure, another
 * window's upgrade): it is dropped, opened once more, and only then does the caller hear of it.
 */
import { openDB } from 'idb';

const NAME = 'gelside';
const VERSION = 3;
const OPEN_LIMIT_MS = 3000;

/** @typedef {import('idb').IDBPDatabase<any>} Database */

/** @type {Promise<Database> | null} */
let opening = null;
/** @type {(message: string) => void} */
let warn = () => undefined;

/** Tell the app of a storage trouble in words. @param {(message: string) => void} listener */
export function onStorageTrouble(listener) {
  warn = listener;
}

/** @returns {Promise<Database>} */
export function database() {
  if (!opening) {
    const attempt = openWithin(OPEN_LIMIT_MS);
    opening = attempt;
    attempt.catch(() => forget(attempt));
  }
  return opening;
}

/** @param {Promise<Database> | null} which */
function forget(which) {
  if (opening === which) opening = null;
}

/** @param {number} limit @returns {Promise<Database>} */
function openWithin(limit) {
  if (!globalThis.indexedDB) {
    return Promise.reject(new Error('This browser gives no storage here (private window?). Nothing can be recorded.'));
  }
  return new Promise((resolve, reject) => {
    const timer = setTimeout(
      () => reject(new Error("The phone's storage does not answer. Close other Gelside windows and start again.")),
      limit,
    );
    openDB(NAME, VERSION, {
      // All of it or the version before: what fails after its first wait would else leave half a version behind.
      upgrade: (db, before, _after, tx) => build(db, before, tx).catch(() => giveUp(tx)),
      blocked: () => warn('Another Gelside window is open with an older version: close it.'),
      blocking: (_old, _new, event) => {
        const handle = /** @type {IDBDatabase} */ (/** @type {any} */ (event).target);
        handle.close();
        opening = null;
        warn('A newer Gelside was opened in another window: use that one.');
      },
      terminated: () => {
        opening = null;
      },
    })
      .then(resolve, reject)
      .finally(() => clearTimeout(timer));
  });
}

/** The stores, from any version on; entries themselves are never migrated. @param {Database} db @param {number} before @param {any} tx */
async function build(db, before, tx) {
  if (before < 1) {
    db.createObjectStore('entries', { keyPath: 'id' }).createIndex('device', ['device', 'seq']);
    db.createObjectStore('meta');
    db.createObjectStore('draft');
  }
  if (before < 2) db.createObjectStore('waiting');
  if (before === 1) await moveWaiting(tx);
  // Pictures and clips by the hash of their bytes; those that the practice lacks wait in a store of their own.
  db.createObjectStore('photos', { keyPath: 'hash' });
  db.createObjectStore('photos_waiting');
}

/** In version 1 a row that waited to be sent said so itself. @param {any} tx */
async function moveWaiting(tx) {
  const entries = tx.objectStore('entries');
  for (const { pending, ...row } of await entries.index('pending').getAll()) {
    await tx.objectStore('waiting').put(row.id, [row.device, row.seq]);
    await entries.put(row);
  }
  entries.deleteIndex('pending');
}

/**
 * Run `work` inside one transaction and settle on its end: resolved only after `complete`, rejected on `abort`.
 * @template T
 * @param {string[]} stores @param {IDBTransactionMode} mode
 * @param {(tx: any) => Promise<T>} work must await nothing but requests of `tx`
 * @param {IDBTransactionDurability} [durability] strict for everything that counts; relaxed for the hand's position
 * @returns {Promise<T>}
 */
export async function transaction(stores, mode, work, durability = 'strict') {
  try {
    return await attempt(stores, mode, work, durability);
  } catch (error) {
    if (!handleIsDead(error)) throw error;
    opening = null;
    return attempt(stores, mode, work, durability);
  }
}

/**
 * @template T @param {string[]} stores @param {IDBTransactionMode} mode @param {(tx: any) => Promise<T>} work
 * @param {IDBTransactionDurability} durability
 * @returns {Promise<T>}
 */
async function attempt(stores, mode, work, durability) {
  const db = await database();
  const tx = db.transaction(stores, mode, mode === 'readwrite' ? { durability } : undefined);
  /** @type {unknown} */
  let failure = null;
  const outcome = tx.done.then(
    () => null,
    (/** @type {unknown} */ error) => error || new Error("The phone's storage gave up on this entry."),
  );
  let result;
  try {
    result = await work(tx);
  } catch (error) {
    failure = error;
    abort(tx);
  }
  const ended = await outcome;
  if (failure || ended) throw failure || ended;
  return /** @type {T} */ (result);
}

/** The opening fails by it, and says so. @param {any} tx */
function giveUp(tx) {
  tx.done.catch(() => undefined);
  abort(tx);
}

/** @param {any} tx */
function abort(tx) {
  try {
    tx.abort();
  } catch (error) {
    // The transaction had already ended by itself: its own outcome tells what happened.
    if (!(error instanceof DOMException) || error.name !== 'InvalidStateError') throw error;
  }
}

/** @param {unknown} error */
function handleIsDead(error) {
  return error instanceof DOMException && ['InvalidStateError', 'UnknownError'].includes(error.name);
}

/** A storage failure in words for a person. @param {unknown} error @param {string} [what] is not saved, by name and value */
export function storageWords(error, what = 'what you did just now') {
  if (error instanceof DOMException && error.name === 'QuotaExceededError') {
    return `NOT saved: ${what}. The phone's storage is full: free some space, then try again.`;
  }
  const words = error instanceof Error ? error.message : String(error);
  return `NOT saved: ${what}. ${words}`;
}

/** @param {string} key @returns {Promise<any>} */
export async function getMeta(key) {
  return transaction(['meta'], 'readonly', (tx) => tx.objectStore('meta').get(key));
}

/** @param {string} key @param {any} value */
export async function setMeta(key, value) {
  await transaction(['meta'], 'readwrite', (tx) => tx.objectStore('meta').put(value, key));
}

/** @param {string} key @returns {Promise<any>} */
export async function getDraft(key) {
  return transaction(['draft'], 'readonly', (tx) => tx.objectStore('draft').get(key));
}

/** Half-typed digits survive a killed browser; they need no flush of their own. @param {string} key @param {any} value null removes it */
export async function setDraft(key, value) {
  await transaction(['draft'], 'readwrite', (tx) => {
    const store = tx.objectStore('draft');
    return value === null ? store.delete(key) : store.put(value, key);
  }, 'relaxed');
}
