/**
 * The journal on the phone: entries are appended, never changed. An append is one strict transaction that
 * holds the entry AND the device's new seq; it is kept only when that transaction has completed.
 */
import { getMeta, setMeta, transaction } from './db.js';
import { NOTHING_BEFORE, localTime, newDeviceId, open, seal } from './entry.js';

/** @typedef {import('./types').Draft} Draft */
/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./types').Envelope} Envelope */
/** @typedef {import('./types').Row} Row */

const DEVICE = 'device';
/** One append after the other within this window; other windows are met by the check inside the transaction. */
let last = Promise.resolve();
/** @type {{device: string, seq: number, prev: string} | null} where the chain ends, as this window knows it */
let place = null;

/**
 * Append drafts as one unit. Resolves after the transaction completed, in order of calls.
 * @param {Draft[]} drafts @returns {Promise<Entry[]>} the entries as stored
 */
export function append(drafts) {
  const turn = last.then(() => appendNow(drafts));
  // The next append waits for this one to end, well or badly; the caller of this one gets its own error.
  last = turn.then(
    () => undefined,
    () => undefined,
  );
  return turn;
}

/** @param {Draft[]} drafts @returns {Promise<Entry[]>} */
async function appendNow(drafts) {
  for (;;) {
    const state = place || (await deviceState());
    const sealed = await sealAll(drafts, state);
    if (await write(sealed, state)) {
      const end = sealed[sealed.length - 1].entry;
      place = { device: state.device, seq: end.seq, prev: end.id };
      return sealed.map(({ entry }) => entry);
    }
    // Another window appended meanwhile: read the place again and seal behind its entry.
    place = null;
  }
}

/** @returns {Promise<{device: string, seq: number, prev: string}>} */
export async function deviceState() {
  const known = await getMeta(DEVICE);
  if (known) return known;
  const fresh = { device: newDeviceId(), seq: 0, prev: NOTHING_BEFORE };
  return transaction(['meta'], 'readwrite', async (tx) => {
    const store = tx.objectStore('meta');
    const other = await store.get(DEVICE);
    if (other) return other;
    await store.put(fresh, DEVICE);
    return fresh;
  });
}

/** @param {Draft[]} drafts @param {{device: string, seq: number, prev: string}} state */
async function sealAll(drafts, state) {
  const at = localTime();
  const sealed = [];
  let end = state;
  for (const draft of drafts) {
    const one = await seal(draft, end, at);
    sealed.push(one);
    end = { device: end.device, seq: one.entry.seq, prev: one.entry.id };
  }
  return sealed;
}

/**
 * @param {{envelope: Envelope, entry: Entry}[]} sealed @param {{device: string, seq: number, prev: string}} state
 * @returns {Promise<boolean>} false when the device's seq had moved on
 */
async function write(sealed, state) {
  return transaction(['entries', 'meta'], 'readwrite', async (tx) => {
    const meta = tx.objectStore('meta');
    const now = await meta.get(DEVICE);
    if (!now || now.seq !== state.seq || now.prev !== state.prev || now.device !== state.device) return false;
    const entries = tx.objectStore('entries');
    for (const { envelope, entry } of sealed) await entries.add(rowOf(envelope, entry, true));
    const end = sealed[sealed.length - 1].entry;
    await meta.put({ device: state.device, seq: end.seq, prev: end.id }, DEVICE);
    return true;
  });
}

/** @param {Envelope} envelope @param {Entry} entry @param {boolean} own @returns {Row} */
function rowOf(envelope, entry, own) {
  /** @type {Row} */
  const row = {
    id: entry.id,
    header: envelope.header,
    body: envelope.body,
    device: String(entry.device),
    seq: Number(entry.seq),
    exam: entry.exam,
    patient: entry.patient,
    kind: String(entry.kind),
    at: String(entry.at),
    own: own ? 1 : 0,
  };
  if (own) row.pending = 1;
  return row;
}

/** @param {Row} row @returns {Entry} */
export function entryOf(row) {
  return { ...JSON.parse(row.header), id: row.id, body: JSON.parse(row.body) };
}

/** @param {string} index @param {string} key @returns {Promise<Entry[]>} */
async function byIndex(index, key) {
  const rows = await transaction(['entries'], 'readonly', (tx) => tx.objectStore('entries').index(index).getAll(key));
  return rows.filter((/** @type {Row} */ row) => !row.damaged).map(entryOf);
}

/** All entries of one exam. @param {string} exam */
export function examEntries(exam) {
  return byIndex('exam', exam);
}

/** @param {string} patient */
export function patientEntries(patient) {
  return byIndex('patient', patient);
}

/** @param {string} kind */
export function kindEntries(kind) {
  return byIndex('kind', kind);
}

/**
 * Store what the practice sent. An entry that is already here keeps its row (and its pending mark).
 * @param {Envelope[]} envelopes @returns {Promise<{fresh: Entry[], unreadable: number}>}
 */
export async function storePulled(envelopes) {
  /** @type {{envelope: Envelope, entry: Entry, damaged: boolean}[]} */
  const opened = [];
  let unreadable = 0;
  for (const envelope of envelopes) {
    try {
      opened.push({ envelope, ...(await open(envelope)) });
    } catch (error) {
      // A text that is no JSON has no place in an exam; it stays at the practice and is counted here.
      if (!(error instanceof SyntaxError)) throw error;
      unreadable += 1;
    }
  }
  const fresh = await transaction(['entries'], 'readwrite', async (tx) => {
    const store = tx.objectStore('entries');
    const added = [];
    for (const { envelope, entry, damaged } of opened) {
      if (await store.getKey(entry.id)) continue;
      const row = rowOf(envelope, entry, false);
      if (damaged) row.damaged = 1;
      await store.put(row);
      if (!damaged) added.push(entry);
    }
    return added;
  });
  return { fresh, unreadable: unreadable + opened.filter(({ damaged }) => damaged).length };
}

/** Entries of this phone that wait to be sent, by seq. @param {number} limit @returns {Promise<Row[]>} */
export async function pendingRows(limit) {
  const range = IDBKeyRange.bound([1, 0], [1, Infinity]);
  return transaction(['entries'], 'readonly', (tx) => tx.objectStore('entries').index('pending').getAll(range, limit));
}

/** @returns {Promise<{own: number, pending: number, oldest: string | null}>} */
export async function counts() {
  const state = await deviceState();
  const range = IDBKeyRange.bound([1, 0], [1, Infinity]);
  return transaction(['entries'], 'readonly', async (tx) => {
    const index = tx.objectStore('entries').index('pending');
    const [pending, first] = await Promise.all([index.count(range), index.getAll(range, 1)]);
    return { own: state.seq, pending, oldest: first.length ? first[0].at : null };
  });
}

/**
 * Take the practice's word for exactly these ids, and keep its receipt, in one transaction.
 * @param {string[]} ids @param {import('./types').Receipt} receipt
 */
export async function markSent(ids, receipt) {
  await transaction(['entries', 'meta'], 'readwrite', async (tx) => {
    const store = tx.objectStore('entries');
    for (const id of ids) {
      const row = await store.get(id);
      if (!row || !row.pending) continue;
      delete row.pending;
      await store.put(row);
    }
    await tx.objectStore('meta').put(receipt, 'receipt');
  });
}

/** The practice's store changed or went back: everything behind `through` is to be sent again. @param {number} through */
export async function sendAgainFrom(through) {
  const state = await deviceState();
  const range = IDBKeyRange.bound([state.device, through + 1], [state.device, Infinity]);
  await transaction(['entries'], 'readwrite', async (tx) => {
    const store = tx.objectStore('entries');
    const rows = await store.index('device').getAll(range);
    for (const row of rows) {
      if (row.own && !row.pending) await store.put({ ...row, pending: 1 });
    }
  });
}

export { getMeta, setMeta };
