/**
 * A second copy of what waits to be sent, in the Cache storage. A browser that finds its IndexedDB damaged throws all of
 * it away without a word and begins an empty one; this copy lies elsewhere and comes back at the next start. It is written
 * a moment after an entry was kept, never in its way; rows lie here sealed as they lie there. What the practice holds is
 * taken out. Photos are too large for it: only how many wait is known.
 */
import { transaction } from './db.js';
import { base64 } from './vault.js';
import { WAITING, wait } from './waiting.js';

const NAME = 'gelside-second';
const HEAD = '/second/head';
/** Rows in one piece: a tap writes one piece anew, a long day without network makes few. */
const PIECE = 32;
const LATER_MS = 300;
/** A Cache storage that does not answer keeps no phone from starting, and nobody waiting. */
const ANSWER_MS = 3000;

/** @typedef {import('./types').Row} Row */
/** @typedef {Pick<Row, 'device' | 'seq'>} Spot */
/** @typedef {{device: string, seq: number}[]} Names of this phone, oldest first */
/**
 * @typedef {object} Head what the copy knows of its phone
 * @property {string} device
 * @property {Names} names
 * @property {number} waiting entries
 * @property {number} photos
 * @property {string} practice
 * @property {import('./vault.js').Lock | null} lock
 * @property {import('./types').Settings | null} settings
 */
/** @typedef {{at: string, entries: number, missing: number, photos: number, practice: string}} TakenBack */

/** @type {ReturnType<typeof setTimeout> | null} */
let timer = null;
/** What lies in the copy is not known before the first look at all of it. */
let whole = true;
/** @type {Set<string>} pieces to be written anew */
const touched = new Set();
/** The device whose copy this is, once that was looked at. */
let mine = '';
/** @type {(trouble: 'failed' | 'emptied' | null) => void} */
let tell = () => undefined;

/** @param {typeof tell} listener hears that no copy can be kept, or that the storage was emptied under this window */
export function onCopyTrouble(listener) {
  tell = listener;
}

/** These entries changed (kept, or taken by the practice); null: any may have. @param {Spot[] | null} spots */
export function copyLater(spots) {
  if (!globalThis.caches) return;
  if (spots) for (const spot of spots) touched.add(pieceOf(spot));
  else whole = true;
  timer ||= setTimeout(() => {
    timer = null;
    copyNow().then(tell, () => tell('failed'));
  }, LATER_MS);
}

/** One writer at a time, over all windows: what was read before another's change is not written after it. @param {() => Promise<any>} act */
function alone(act) {
  return navigator.locks.request('gelside-second', {}, act);
}

/** @returns {Promise<'emptied' | null>} */
async function copyNow() {
  return alone(async () => {
    const all = whole;
    const paths = new Set(touched);
    whole = false;
    touched.clear();
    try {
      const now = await standing(all ? null : paths);
      if (!now) return null;
      const cache = await caches.open(NAME);
      if (mine !== now.head.device && !(await isOurs(cache, now.head.names))) return 'emptied';
      mine = now.head.device;
      if (all) for (const path of await piecesIn(cache)) paths.add(path);
      for (const path of new Set([...paths, ...now.pieces.keys()])) {
        const rows = now.pieces.get(path);
        if (rows?.length) await cache.put(path, new Response(packed(rows)));
        else await cache.delete(path);
      }
      await cache.put(HEAD, new Response(packed(now.head)));
      return null;
    } catch (error) {
      whole = true;
      throw error;
    }
  });
}

/**
 * What waits, in pieces, and the phone's own facts. @param {Set<string> | null} paths null: all of it
 * @returns {Promise<{head: Head, pieces: Map<string, Row[]>} | null>} null: this phone has no name yet
 */
async function standing(paths) {
  return transaction(['entries', 'meta', WAITING, 'photos_waiting'], 'readonly', async (tx) => {
    const names = await namesIn(tx);
    if (!names.length) return null;
    const meta = tx.objectStore('meta');
    const waiting = tx.objectStore(WAITING);
    /** @type {Map<string, Row[]>} */
    const pieces = new Map();
    for (const path of paths || new Set((await waiting.getAllKeys()).map(spotOf).map(pieceOf))) {
      const ids = new Set(await waiting.getAll(rangeOf(path)));
      const rows = await tx.objectStore('entries').index('device').getAll(rangeOf(path));
      pieces.set(path, rows.filter((/** @type {Row} */ { id }) => ids.has(id)));
    }
    const head = {
      device: names[names.length - 1].device, names, waiting: await waiting.count(), photos: await tx.objectStore('photos_waiting').count(),
      practice: (await meta.get('practice'))?.practice || '', lock: (await meta.get('lock')) || null,
      settings: (await meta.get('settings')) || null,
    };
    return { head, pieces };
  });
}

/** Every name of this phone that has begun. @param {any} tx @returns {Promise<Names>} */
async function namesIn(tx) {
  const meta = tx.objectStore('meta');
  const device = await meta.get('device');
  return device ? [...((await meta.get('former')) || []), { device: device.device, seq: device.seq }] : [];
}

/** There is no copy yet, or it is of this phone as the storage knows it. @param {Cache} cache @param {Names} names */
async function isOurs(cache, names) {
  const head = await headIn(cache);
  return !head || names.some(({ device }) => device === head.device);
}

/** A copy of a phone that the storage knows nothing of: the storage was emptied. @returns {Promise<Head | null>} */
export function foundCopy() {
  return globalThis.caches ? answered(look()) : Promise.resolve(null);
}

/** @returns {Promise<Head | null>} */
async function look() {
  if (!(await caches.has(NAME))) return null;
  const head = await headIn(await caches.open(NAME));
  if (!head) return null;
  const known = await transaction(['meta'], 'readonly', async (tx) => {
    const meta = tx.objectStore('meta');
    return [...((await meta.get('former')) || []), (await meta.get('device')) || { device: '' }];
  });
  return known.some((/** @type {Spot} */ { device }) => device === head.device) ? null : head;
}

/**
 * Put what the copy holds where it was, under its own name; the phone goes on under a new one, so that no place in its
 * count is used twice. What happened is kept until somebody has read it. @param {Head} head @param {string} at
 * @returns {Promise<boolean>} false: a PIN was set since, which cannot open what lies here; it is left as it lies
 */
export async function takeBack(head, at) {
  const { rows } = await alone(async () => rowsOf(head));
  return transaction(['entries', 'meta', WAITING], 'readwrite', async (tx) => {
    const meta = tx.objectStore('meta');
    const former = (await meta.get('former')) || [];
    const lock = await meta.get('lock');
    // Another window was first.
    if (former.some((/** @type {Spot} */ { device }) => device === head.device)) return true;
    if (lock && head.lock && lock.name !== head.lock.name) return false;
    const locked = lock || head.lock;
    // Some rows may lie open beside sealed ones: the next opening seals them.
    if (locked) await meta.put({ ...locked, unsealed: 1 }, 'lock');
    await meta.put([...head.names, ...former], 'former');
    if (head.settings && !(await meta.get('settings'))) await meta.put(head.settings, 'settings');
    for (const row of rows) {
      await tx.objectStore('entries').put(row);
      await wait(tx, row);
    }
    /** @type {TakenBack} */
    const told = { at, entries: rows.length, missing: Math.max(0, head.waiting - rows.length), photos: head.photos, practice: head.practice };
    await meta.put(told, 'taken_back');
    return true;
  });
}

/** @param {Head} head @returns {Promise<{rows: Row[]}>} */
async function rowsOf(head) {
  const cache = await caches.open(NAME);
  const rows = [];
  for (const path of await piecesIn(cache)) {
    if (!head.names.some(({ device }) => path.includes(device))) continue;
    rows.push(...((await unpacked(await cache.match(path))) || []));
  }
  return { rows };
}

/** Nothing of it stays: open rows were sealed just now, or the phone is cleared. */
export async function dropCopy() {
  if (!globalThis.caches) return;
  await answered(alone(async () => {
    await caches.delete(NAME);
    whole = true;
  }));
}

/** @template T @param {Promise<T>} work @returns {Promise<T>} */
function answered(work) {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error("The browser's second storage does not answer.")), ANSWER_MS);
    work.then(resolve, reject).finally(() => clearTimeout(timer));
  });
}

/** @param {Cache} cache @returns {Promise<string[]>} */
async function piecesIn(cache) {
  return (await cache.keys()).map(({ url }) => new URL(url).pathname).filter((path) => path !== HEAD);
}

/** @param {Cache} cache @returns {Promise<Head | null>} */
async function headIn(cache) {
  return unpacked(await cache.match(HEAD));
}

/** @param {[string, number]} key @returns {Spot} */
function spotOf([device, seq]) {
  return { device, seq };
}

/** @param {Spot} spot */
function pieceOf({ device, seq }) {
  return `/second/${device}/${Math.floor((seq - 1) / PIECE)}`;
}

/** @param {string} path */
function rangeOf(path) {
  const [device, number] = path.split('/').slice(2);
  const before = Number(number) * PIECE;
  return IDBKeyRange.bound([device, before + 1], [device, before + PIECE]);
}

/** JSON with bytes in it. @param {any} value */
function packed(value) {
  return JSON.stringify(value, (_key, part) => {
    if (part instanceof ArrayBuffer) return { bytes: base64(part) };
    return ArrayBuffer.isView(part) ? { bytes: base64(/** @type {Uint8Array} */ (part)) } : part;
  });
}

/** @param {Response | undefined} kept @returns {Promise<any>} null: none, or a browser that died over it left half of it */
async function unpacked(kept) {
  if (!kept) return null;
  try {
    return JSON.parse(await kept.text(), (_key, part) => (typeof part?.bytes === 'string' ? bytesOf(part.bytes) : part));
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    return null;
  }
}

/** @param {string} text of base64 */
function bytesOf(text) {
  return Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
}
