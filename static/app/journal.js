/**
 * The journal on the phone: entries are appended, never changed. An append is one strict transaction that
 * holds the entry AND the device's new seq; it is kept only when that transaction has completed.
 */
import { getMeta, setMeta, transaction } from './db.js';
import { NOTHING_BEFORE, localTime, newDeviceId, open, seal } from './entry.js';
import { copyLater, dropCopy } from './second.js';
import { find, put } from './shelf.js';
import { WAITING, count, first as firstWaiting, settle, wait, waitAgain } from './waiting.js';
import { isReadable, knows, sealEnvelope, sealingIsDone, stateOfVault, wakeVault } from './vault.js';

/** @typedef {import('./types').Draft} Draft */
/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./types').Envelope} Envelope */
/** @typedef {import('./types').Row} Row */

const DEVICE = 'device';
/** Since when each exam is all at the practice (cleanup.js). */
export const SENT = 'sent';
/** One append after the other within this window; other windows are met by the check inside the transaction. */
let last = Promise.resolve();
/** @type {{device: string, seq: number, prev: string} | null} where the chain ends, as this window knows it */
let place = null;

/**
 * Append drafts as one unit. Resolves after the transaction completed, in order of calls.
 * @param {Draft[]} drafts @param {(entries: Entry[]) => void} [sealed] told just before they are written: they may yet fail,
 * or be sealed anew behind another window's entry (then it is told again)
 * @returns {Promise<Entry[]>} the entries as stored
 */
export function append(drafts, sealed = () => undefined) {
  const turn = last.then(() => appendNow(drafts, sealed));
  // The next append waits for this one to end, well or badly; the caller of this one gets its own error.
  last = turn.then(
    () => undefined,
    () => undefined,
  );
  return turn;
}

/** @param {Draft[]} drafts @param {(entries: Entry[]) => void} tell @returns {Promise<Entry[]>} */
async function appendNow(drafts, tell) {
  for (;;) {
    const state = place || (await deviceState());
    const sealed = await sealAll(drafts, state);
    tell(sealed.map(({ entry }) => entry));
    if (await write(sealed, state)) {
      const end = sealed[sealed.length - 1].entry;
      place = { device: state.device, seq: end.seq, prev: end.id };
      const made = sealed.map(({ entry }) => entry);
      put(made);
      copyLater(sealed.map(({ entry }) => entry));
      return made;
    }
    // Another window appended (or set the PIN) meanwhile: read the place again and seal behind its entry.
    place = null;
    await wakeVault();
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
 * @returns {Promise<boolean>} false when the device's seq had moved on, or a PIN came or went
 */
async function write(sealed, state) {
  const rows = await Promise.all(sealed.map(({ envelope, entry }) => rowOf(envelope, entry, true)));
  return transaction(['entries', 'meta', WAITING], 'readwrite', async (tx) => {
    const meta = tx.objectStore('meta');
    const now = await meta.get(DEVICE);
    if (!knows(await meta.get('lock'))) return false;
    if (!now || now.seq !== state.seq || now.prev !== state.prev || now.device !== state.device) return false;
    const entries = tx.objectStore('entries');
    for (const row of rows) {
      await entries.add(row);
      await wait(tx, row);
    }
    const end = sealed[sealed.length - 1].entry;
    await meta.put({ device: state.device, seq: end.seq, prev: end.id }, DEVICE);
    return true;
  });
}

/** @param {Envelope} envelope @param {Entry} entry @param {boolean} own @returns {Promise<Row>} */
async function rowOf(envelope, entry, own) {
  const { id } = entry;
  const { header, body } = envelope;
  const kept = stateOfVault() === 'none' ? { header, body } : { sealed: await sealEnvelope(id, envelope) };
  /** @type {Row} */
  const row = { id, device: String(entry.device), seq: Number(entry.seq), own: own ? 1 : 0, ...kept };
  // The time lies open, so that a locked phone can still say how long its entries wait.
  return own ? { ...row, at: entry.at } : row;
}

/** All entries of one exam. @param {string} exam */
export function examEntries(exam) {
  return find((entry) => entry.exam === exam);
}

/** Entries outside any exam: animals' records, visits, merges, and strikes of them. */
export function looseEntries() {
  return find((entry) => entry.exam === null);
}

/** @param {string} kind */
export function kindEntries(kind) {
  return find((entry) => entry.kind === kind);
}

/** Seal every row that lies open (a PIN was set just now); flags that changed meanwhile are kept. */
export async function sealAllRows() {
  const rows = await transaction(['entries'], 'readonly', (tx) => tx.objectStore('entries').getAll());
  const open = rows.filter((/** @type {Row} */ row) => !row.sealed);
  const sealed = await Promise.all(open.map((/** @type {Row} */ row) =>
    sealEnvelope(row.id, { header: row.header || '', body: row.body || '' })));
  await transaction(['entries'], 'readwrite', async (tx) => {
    const store = tx.objectStore('entries');
    for (const [place, { id }] of open.entries()) {
      const row = await store.get(id);
      if (!row) continue;
      const { header, body, ...flags } = row;
      await store.put({ ...flags, sealed: sealed[place] });
    }
  });
  // The second copy holds them open: it goes before the sealing counts as done, and is made anew of sealed ones.
  await dropCopy();
  await sealingIsDone();
  copyLater(null);
}

/**
 * The PIN is forgotten and all is at the practice: in one step the sealed rows are marked as unreadable here, and the
 * lock, the token and the drafts go. @returns {Promise<boolean>} false when something waits to be sent: nothing was changed
 */
export async function closeSealedRows() {
  const closed = await transaction(['entries', 'meta', 'draft', WAITING, 'photos', 'photos_waiting'], 'readwrite', async (tx) => {
    const store = tx.objectStore('entries');
    if ((await count(tx)) || (await tx.objectStore('photos_waiting').count())) return false;
    await tx.objectStore('photos').clear();
    for (const row of await store.getAll()) if (row.sealed) await store.put({ ...row, closed: 1 });
    for (const key of ['lock', 'token', 'token_key', 'pull']) await tx.objectStore('meta').delete(key);
    await tx.objectStore('draft').clear();
    return true;
  });
  copyLater(null);
  return closed;
}

/**
 * Rows of every entry of this phone, under its former names too, each name's in order. Rows whose key is gone stay
 * out: they are at the practice. @returns {Promise<Row[]>}
 */
export async function ownRows() {
  const rows = await transaction(['entries'], 'readonly', (tx) => tx.objectStore('entries').index('device').getAll());
  return rows.filter((/** @type {Row} */ row) => row.own && !row.closed);
}

/**
 * Store what the practice sent. An entry that is already here keeps its row (and waits, if it did).
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
  let fresh = await storeOpened(opened);
  if (!fresh) {
    await wakeVault();
    fresh = await storeOpened(opened);
  }
  if (!fresh) throw new Error('A PIN was set at this moment: the list is fetched again.');
  put(fresh);
  return { fresh, unreadable: unreadable + opened.filter(({ damaged }) => damaged).length };
}

/** @param {{envelope: Envelope, entry: Entry, damaged: boolean}[]} opened @returns {Promise<Entry[] | null>} those that are new here; null when a PIN came or went */
async function storeOpened(opened) {
  const rows = await Promise.all(opened.map(({ envelope, entry }) => rowOf(envelope, entry, false)));
  return transaction(['entries', 'meta'], 'readwrite', async (tx) => {
    if (!knows(await tx.objectStore('meta').get('lock'))) return null;
    const store = tx.objectStore('entries');
    const added = [];
    for (const [place, { entry, damaged }] of opened.entries()) {
      const before = await store.get(entry.id);
      if (before && !before.closed) continue;
      await store.put({ ...rows[place], ...(before?.own ? { own: 1 } : {}), ...(damaged ? { damaged: 1 } : {}) });
      if (!damaged) added.push(entry);
    }
    return added;
  });
}

/**
 * Own entries (also those under a former name of this phone), those not sent, those the practice holds.
 * `oldest` is the time of the first entry not sent.
 * @returns {Promise<{own: number, pending: number, held: number, oldest: string | null, receipt: import('./types').Receipt | null}>}
 */
export async function counts() {
  const [state, former, receipt] = await Promise.all([deviceState(), getMeta('former'), getMeta('receipt')]);
  /** @type {{device: string, seq: number}[]} oldest name first */
  const names = [...(former || []), state];
  const before = names.slice(0, -1).reduce((sum, one) => sum + one.seq, 0);
  const { pending, first, unsentBefore } = await transaction(['entries', WAITING], 'readonly', async (tx) => {
    const all = await count(tx);
    let found;
    for (const { device } of all ? names : []) found ||= await firstWaiting(tx, device);
    return { pending: all, first: found, unsentBefore: before ? all - (await count(tx, state.device)) : 0 };
  });
  const held = receipt && receipt.device === state.device ? Math.min(receipt.held, state.seq) : 0;
  const oldest = first ? await timeOf(first) : null;
  return { own: state.seq + before, pending, held: held + Math.max(0, before - unsentBefore), oldest, receipt: receipt || null };
}

/** Rows written before times lay open have to be opened for it. @param {Row} row @returns {Promise<string | null>} */
async function timeOf(row) {
  if (row.at || !isReadable()) return row.at || null;
  const [known] = await find((entry) => entry.id === row.id);
  return known ? known.at : null;
}

/**
 * The practice says that another phone, made from a copy of this one, came first: go on under a new name.
 * What was written under the old one stays, and is sent under it.
 * @param {string} device the name that was doubled @param {string} branch how the desk lists this phone's part
 */
export async function takeNewName(device, branch) {
  const fresh = { device: newDeviceId(), seq: 0, prev: NOTHING_BEFORE };
  await transaction(['meta'], 'readwrite', async (tx) => {
    const meta = tx.objectStore('meta');
    const now = await meta.get(DEVICE);
    if (!now || now.device !== device) return;
    await meta.put(fresh, DEVICE);
    await meta.put([...((await meta.get('former')) || []), { device, seq: now.seq }], 'former');
    await meta.put({ at: localTime(), branch }, 'clone');
  });
  place = null;
}

/**
 * Take the practice's word for exactly these entries, and draw from its receipt what has to be sent again: all in one
 * transaction, so that a phone that dies over it knows either nothing or everything. It need not wait for the disk:
 * whoever knows nothing sends again, which changes nothing.
 * @param {string} storeId of the answer @param {import('./waiting.js').Place[]} acknowledged
 * @param {import('./types').Receipt | null} receipt null: of a former name, not kept
 */
export async function takeReceipt(storeId, acknowledged, receipt) {
  let again = false;
  await transaction(['entries', 'meta', WAITING], 'readwrite', async (tx) => {
    again = await meetStore(tx, storeId);
    const meta = tx.objectStore('meta');
    const before = receipt ? await meta.get('receipt') : null;
    if (receipt) await meta.put(receipt, 'receipt');
    if (receipt && before && before.device === receipt.device && receipt.through < before.through) {
      // The practice's file went back: everything of this name behind what it holds without a break.
      await waitAgain(tx, (row) => row.device === receipt.device && row.seq > receipt.through);
      again = true;
    }
    await settle(tx, acknowledged);
  }, 'relaxed');
  copyLater(again ? null : acknowledged);
}

/** The practice says which store answers (each restore makes a new one). @param {string} storeId */
export async function storeIs(storeId) {
  if (await transaction(['entries', 'meta', WAITING], 'readwrite', (tx) => meetStore(tx, storeId))) copyLater(null);
}

/** Another store than before has none of this phone's entries to its name: all go again, the ids make that harmless. @param {any} tx @param {string} storeId @returns {Promise<boolean>} whether they do */
async function meetStore(tx, storeId) {
  const meta = tx.objectStore('meta');
  const known = (await meta.get('store')) || (await meta.get('receipt'))?.store_id;
  if (known === storeId) return false;
  if (known) {
    await waitAgain(tx, () => true);
    await meta.put(null, 'receipt');
    await meta.put(null, SENT);
  }
  await meta.put(storeId, 'store');
  return Boolean(known);
}

export { getMeta, setMeta };
