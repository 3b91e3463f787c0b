/**
 * The loop that brings entries to the practice and fetches today's list. One window sends at a time (Web Lock);
 * only a parsed acknowledgement marks an entry as sent; nothing here ever deletes.
 */
import { counts, deviceState, getMeta, markSent, pendingRows, sendAgainFrom, setMeta, storePulled } from './journal.js';
import { state, update } from './state.js';
import { envelopeOf } from './shelf.js';
import { base64, stateOfVault } from './vault.js';
import { PROTOCOL, WireProblem, acknowledgement, batch, page, pause, request } from './wire.js';

const SOON_MS = 600;
const COUNT_MS = 150;
const QUIET_MS = 60000;
const LIST_EVERY_MS = 5 * 60000;

/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let counting;
let failures = 0;
let running = false;
let again = false;
let listed = 0;
/** @type {(fresh: import('./types').Entry[]) => void} */
let arrived = () => undefined;

/** @param {(fresh: import('./types').Entry[]) => void} onArrived */
export function startSync(onArrived) {
  arrived = onArrived;
  globalThis.addEventListener('online', () => sendNow());
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') sendNow();
  });
  schedule(0);
}

/** Something new was kept: send it soon, unless a pause after a failure is running. */
export function nudge() {
  // The line under the value comes first; counting can wait a moment.
  clearTimeout(counting);
  counting = setTimeout(refreshCounts, COUNT_MS);
  // A round under way may have counted before this entry: it is followed by another.
  if (running) again = true;
  else if (failures === 0) schedule(SOON_MS);
}

/** A person (or the network's return) asks for a try at once. */
export function sendNow() {
  failures = 0;
  listed = 0;
  schedule(0);
}

/** @param {number} wait */
function schedule(wait) {
  clearTimeout(timer);
  timer = setTimeout(run, wait);
}

async function run() {
  if (running) {
    again = true;
    return;
  }
  running = true;
  try {
    await navigator.locks.request('gelside-send', { ifAvailable: true }, async (lock) => {
      if (lock) await oneRound();
    });
    failures = 0;
    schedule(QUIET_MS);
  } catch (error) {
    failed(error);
  } finally {
    running = false;
    await refreshCounts();
    if (again && failures === 0) schedule(SOON_MS);
    again = false;
  }
}

/** @param {unknown} error */
function failed(error) {
  failures += 1;
  const words = error instanceof Error ? error.message : String(error);
  const what = error instanceof WireProblem ? error.what : 'strange';
  show({ phase: what === 'offline' ? 'offline' : what === 'refused' ? 'blocked' : 'waiting', reason: words, batch: 0, batches: 0 });
  schedule(pause(failures));
}

async function oneRound() {
  const token = await getMeta('token');
  show({ connected: Boolean(token) });
  if (!token) {
    show({ phase: 'idle', reason: 'Not connected to a practice yet.' });
    return;
  }
  if (!['none', 'open'].includes(stateOfVault())) {
    show({ phase: 'idle', reason: 'The phone is locked: sending goes on after the PIN.' });
    return;
  }
  await pushAll(token);
  if (state.sync.revoked) {
    show({ phase: 'blocked', reason: 'This phone was revoked at the desk. All it had is at the practice; nothing more is fetched.' });
    return;
  }
  if (Date.now() - listed > LIST_EVERY_MS) {
    await pullAll(token);
    await fetchPractice(token);
    listed = Date.now();
  }
  show({ phase: 'idle', reason: '' });
}

/** @param {string} token */
async function pushAll(token) {
  const { pending } = await counts();
  const batches = Math.ceil(pending / 200);
  for (let number = 1; ; number += 1) {
    const rows = await pendingRows(200);
    if (!rows.length) return;
    show({ phase: 'sending', batch: number, batches: Math.max(batches, number) });
    await pushOne(token, rows);
  }
}

/** @param {string} token @param {import('./types').Row[]} rows */
async function pushOne(token, rows) {
  const { device } = await deviceState();
  const opened = await Promise.all(rows.map(async (row) => ({ id: row.id, ...(await envelopeOf(row)) })));
  const part = batch(opened);
  const entries = part.map(({ header, body }) => ({ header, body }));
  const answer = await request('/api/journal', token, { protocol: PROTOCOL, device, entries });
  await acknowledged(acknowledgement(answer, device, part.map((row) => row.id)));
}

/**
 * The PIN is forgotten: what lies sealed goes to the practice as it is; it holds the other key.
 * @param {string} wrapped_key the data key as the practice can open it
 */
export async function pushSealed(wrapped_key) {
  const [token, { device }] = await Promise.all([getMeta('token'), deviceState()]);
  for (;;) {
    const rows = (await pendingRows(100)).filter((row) => row.sealed);
    if (!rows.length) break;
    const sealed = rows.map((row) => ({
      id: row.id, iv: base64(row.sealed?.iv || new Uint8Array()), data: base64(row.sealed?.data || new Uint8Array()),
    }));
    const answer = await request('/api/journal/sealed', token, { protocol: PROTOCOL, device, wrapped_key, sealed });
    await acknowledged(acknowledgement(answer, device, rows.map((row) => row.id)));
  }
}

/** @param {ReturnType<typeof acknowledgement>} receipt */
async function acknowledged(receipt) {
  const before = await getMeta('receipt');
  await markSent(receipt.acknowledged, {
    store_id: receipt.store_id, through: receipt.through, held: receipt.held, at: new Date().toISOString(),
  });
  if (before && (before.store_id !== receipt.store_id || receipt.through < before.through)) await sendAgainFrom(receipt.through);
  show({ revoked: receipt.revoked });
  await refreshCounts();
  if (!receipt.acknowledged.length) throw new WireProblem('strange', 'The practice acknowledged none of the entries: kept here, tried again.');
}

/** @param {string} token */
async function pullAll(token) {
  let place = (await getMeta('pull')) || { since: 0, scope: '', store_id: '' };
  for (;;) {
    show({ phase: 'fetching' });
    const query = new URLSearchParams({ since: String(place.since), scope: place.scope, limit: '200' });
    const answer = page(await request(`/api/journal?${query}`, token));
    if (place.since > 0 && (answer.scope !== place.scope || answer.store_id !== place.store_id)) {
      // Another day's list, or a restored store: read from the beginning; entries that are here stay as they are.
      place = { since: 0, scope: answer.scope, store_id: answer.store_id };
      await storeChanged(answer.store_id);
      continue;
    }
    const { fresh } = await storePulled(answer.entries);
    place = { since: answer.next, scope: answer.scope, store_id: answer.store_id };
    await setMeta('pull', place);
    if (fresh.length) arrived(fresh);
    if (!answer.more) return;
  }
}

/** A store that never gave this receipt: send everything again (the ids make that harmless). @param {string} storeId */
async function storeChanged(storeId) {
  const receipt = await getMeta('receipt');
  if (!receipt || receipt.store_id === storeId) return;
  await setMeta('receipt', null);
  await sendAgainFrom(0);
  again = true;
}

/** @param {string} token */
async function fetchPractice(token) {
  const practice = await request('/api/practice', token);
  if (!practice || !Array.isArray(practice.people)) throw new WireProblem('strange', 'The list of people could not be read.');
  await setMeta('practice', practice);
  update({ practice });
}

/** Own entries, those not sent, and the receipt. */
export async function refreshCounts() {
  const [{ own, pending, oldest }, receipt, token] = await Promise.all([counts(), getMeta('receipt'), getMeta('token')]);
  show({ own, pending, oldest, receipt: receipt || null, held: receipt ? receipt.held : 0, connected: Boolean(token) });
}

/** @param {Partial<import('./types').SyncState>} patch */
function show(patch) {
  update({ sync: { ...state.sync, ...patch } });
}
