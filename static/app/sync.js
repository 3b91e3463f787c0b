/**
 * The page's side of bringing entries to the practice and fetching today's list: what a round does, and what the
 * chip shows of it. When a round runs is the loop's business; nothing here ever deletes what was not acknowledged.
 */
import { tidy } from './cleanup.js';
import { counts, getMeta, setMeta, storeIs, storePulled } from './journal.js';
import { makeLoop, standingOf } from './loop.js';
import { pushPhotos } from './photo-send.js';
import { waitForAllPhotos, waitingPhotos } from './photos.js';
import { SLOW_MS, askReceipt, pushAll, pushSealed } from './push.js';
import { clearWhenCovered, lockRevoked, setRevoked } from './revoked.js';
import { state, update } from './state.js';
import { readToken } from './token.js';
import { askBackground } from './update.js';
import { isReadable, serverWrapped } from './vault.js';
import { LIMIT_MS, WireProblem, page, request } from './wire.js';

const COUNT_MS = 150;
/** While batch after batch goes, the count on the chip is made anew so often; after the last it is in any case. */
const COUNT_EVERY_MS = 400;
const LIST_EVERY_MS = 5 * 60000;
/** While page after page of the list comes, it is drawn so often. */
const DRAW_EVERY_MS = 2000;
const MOST_PULLED = 200;
/** A page of one entry that is large: no line slower than this is worth waiting for. */
const ONE_ENTRY_MS = 5 * 60000;
const LOCKED_WORDS = 'The phone is locked: what waits is sent as it lies sealed, and fetching goes on after the PIN.';
const CONNECT_WORDS = 'Not connected to a practice yet.';
const REVOKED_WORDS = 'This phone was revoked at the desk: it sends what it has, and fetches nothing more.';

/** @typedef {import('./types').Acknowledged} Acknowledged */
/** @typedef {import('./loop.js').Standing} Standing */

/** @type {ReturnType<typeof setTimeout> | undefined} */
let counting;
/** When the entries were counted, on a clock that nobody sets. */
let counted = -Infinity;
/** When the list was fetched, on that clock. */
let listed = -Infinity;
/** @type {(fresh: import('./types').Entry[]) => void} */
let arrived = () => undefined;

const loop = makeLoop({
  clock: { later: (act, ms) => setTimeout(act, ms), cancel: (timer) => clearTimeout(timer), random: Math.random },
  lock: async (round) => navigator.locks.request('gelside-send', { ifAvailable: true }, (held) => (held ? round() : Promise.resolve(null))),
  round: oneRound,
  show,
  settled,
});
/** How often somebody asked for a round, and how often before the one that began last. */
let asks = 0;
let begunFor = 0;

/** @param {(fresh: import('./types').Entry[]) => void} onArrived */
export function startSync(onArrived) {
  arrived = onArrived;
  globalThis.addEventListener('online', sendNow);
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') sendNow();
    else if (state.sync.pending) askBackground();
  });
  // The service worker may have sent while this page slept.
  new BroadcastChannel('gelside-sent').onmessage = recount;
  loop.now();
}

/** Something new was kept. */
export function nudge() {
  // The line under the value comes first; counting can wait a moment.
  clearTimeout(counting);
  counting = setTimeout(recount, COUNT_MS);
  loop.nudge();
}

/** A person (or the network's return) asks for a try at once. */
export function sendNow() {
  listed = -Infinity;
  asks += 1;
  show({ asked: true });
  loop.now();
}

/** After a round: what was asked for during it waits for the next. */
async function settled() {
  await refreshCounts();
  show({ asked: asks > begunFor });
}

/** @returns {Promise<Standing>} @throws {WireProblem} */
async function oneRound() {
  begunFor = asks;
  const token = await readToken();
  show({ connected: Boolean(token) });
  if (!token) return { phase: 'idle', reason: CONNECT_WORDS, code: '' };
  if (!isReadable()) return lockedRound(token);
  await refreshCounts();
  await pushAll(token, batchGoes, receiptCame);
  if (state.sync.revoked) {
    await bringPhotos(token);
    return revokedRound(token);
  }
  try {
    await fetchAll(token);
  } catch (error) {
    if (!(error instanceof WireProblem) || error.code !== 'revoked') throw error;
    await markRevoked(true);
    return revokedRound(token);
  }
  await bringPhotos(token);
  return { phase: 'idle', reason: '', code: '' };
}

/** After the text and the list, and in nobody's way: what keeps a picture is said, and the next round tries again. @param {string} token */
async function bringPhotos(token) {
  try {
    await pushPhotos(token, photosLeft);
  } catch (error) {
    if (!(error instanceof WireProblem)) throw error;
    photosLeft(state.sync.photos, error.message);
  }
}

/** @param {number} batch @param {number} size of it; what waits behind it may go in other sizes */
function batchGoes(batch, size) {
  show({ phase: 'sending', batch, batches: Math.max(batch, batch - 1 + Math.ceil(state.sync.pending / size)) });
}

/**
 * Locked: what lies sealed goes as it is, and a contact there is in any case: a phone that was lost learns that it is revoked.
 * @param {string} token @returns {Promise<Standing>}
 */
async function lockedRound(token) {
  const standing = /** @type {Standing} */ ({ phase: 'idle', reason: LOCKED_WORDS, code: 'locked' });
  try {
    await pushSealed(token, serverWrapped() || '', batchGoes, receiptCame);
    await bringPhotos(token);
    if (!state.sync.revoked) await receiptCame(await askReceipt(token));
  } catch (error) {
    // Sealed for another practice than the one that answers: this waits for the PIN.
    if (!(error instanceof WireProblem) || error.what !== 'not_taken') throw error;
    if (!state.sync.revoked) return standing;
  }
  return state.sync.revoked ? revokedRound(token) : standing;
}

/** A revoked phone asks for a fresh receipt, and leaves only when that covers all it has. @param {string} token @returns {Promise<Standing>} */
async function revokedRound(token) {
  const receipt = await askReceipt(token);
  if (!receipt.revoked) {
    await markRevoked(false);
    listed = -Infinity;
    return { phase: 'idle', reason: 'The desk has let this phone in again.', code: '' };
  }
  await refreshCounts();
  await clearWhenCovered();
  await lockRevoked();
  return { phase: 'blocked', reason: REVOKED_WORDS, code: 'revoked' };
}

/** @param {number} photos that wait @param {string} [trouble] */
function photosLeft(photos, trouble = '') {
  show({ photos, photoTrouble: trouble });
}

/** @param {Acknowledged} receipt */
async function receiptCame(receipt) {
  if (receipt.revoked !== state.sync.revoked) await markRevoked(receipt.revoked);
  if (receipt.clone) update({ clone: await getMeta('clone') });
  if (performance.now() - counted >= COUNT_EVERY_MS) await refreshCounts();
}

/** @param {boolean} revoked */
async function markRevoked(revoked) {
  await setRevoked(revoked);
  show({ revoked });
}

/** @param {string} token */
async function fetchAll(token) {
  if (performance.now() - listed <= LIST_EVERY_MS) return;
  const { mark, day } = await pullAll(token);
  // One request where nothing is new; a server that names no mark is asked each time.
  if (!mark || mark !== state.practice?.mark) await fetchPractice(token);
  await tidy(day);
  listed = performance.now();
}

/** How many entries are asked for at once: fewer after a page that the line could not carry in time. */
let pagesOf = MOST_PULLED;

/** @param {string} token @returns {Promise<{mark: string | undefined, day: string | null}>} the mark of what the practice tells its phones, and its day */
async function pullAll(token) {
  const came = gathered();
  try {
    const all = await pullPages(token, came.add);
    came.tell();
    show({ coming: false });
    return all;
  } finally {
    came.tell();
  }
}

/** Pages come fast: the list is drawn anew after the first that brings it, after the last, and on a slow line now and then. */
function gathered() {
  /** @type {import('./types').Entry[]} */
  let fresh = [];
  let since = performance.now();
  const tell = () => {
    if (fresh.length) arrived(fresh);
    fresh = [];
    since = performance.now();
  };
  const add = (/** @type {import('./types').Entry[]} */ more, atOnce = false) => {
    fresh.push(...more);
    if (atOnce || performance.now() - since >= DRAW_EVERY_MS) tell();
  };
  return { add, tell };
}

/** @param {string} token @param {(fresh: import('./types').Entry[], atOnce: boolean) => void} came @returns {ReturnType<typeof pullAll>} */
async function pullPages(token, came) {
  let place = (await getMeta('pull')) || { since: 0, scope: '', store_id: '' };
  for (;;) {
    show({ phase: 'fetching' });
    const answer = await pageFrom(token, place);
    if (answer.store_id !== (await getMeta('store'))) {
      await storeIs(answer.store_id);
      await waitForAllPhotos();
      loop.nudge();
    }
    if (place.since > 0 && (answer.scope !== place.scope || answer.store_id !== place.store_id)) {
      // Another day's list, or a restored store: read from the beginning; entries that are here stay as they are.
      place = { since: 0, scope: answer.scope, store_id: answer.store_id };
      continue;
    }
    const ahead = answer.ahead || [];
    const { fresh } = await storePulled([...ahead, ...answer.entries]);
    place = { since: answer.next, scope: answer.scope, store_id: answer.store_id, more: answer.more };
    await setMeta('pull', place);
    if (answer.more) show({ coming: true });
    came(fresh, ahead.length > 0);
    // Who scans here and by which limits is known before the first exam is begun, not behind the exams of the past.
    if (answer.more && !state.practice) await fetchPractice(token);
    if (!answer.more) return { mark: answer.practice, day: dayOf(answer.scope) };
  }
}

/** The practice's day, with which its scopes begin. @param {string} scope */
function dayOf(scope) {
  return scope.match(/^day:(\d{4}-\d\d-\d\d):/)?.[1] || null;
}

/** @param {string} token @param {{since: number, scope: string}} place */
async function pageFrom(token, { since, scope }) {
  const query = new URLSearchParams({ since: String(since), scope, limit: String(pagesOf) });
  // The list itself before the exams of the past; a line that carries no whole page gets no longer one.
  if (since === 0 && pagesOf === MOST_PULLED) query.set('ahead', '1');
  const begun = performance.now();
  try {
    const answer = page(await request(`/api/journal?${query}`, token, undefined, {}, pagesOf > 1 ? LIMIT_MS : ONE_ENTRY_MS));
    if (performance.now() - begun < SLOW_MS) pagesOf = Math.min(MOST_PULLED, pagesOf * 2);
    return answer;
  } catch (error) {
    const slow = error instanceof WireProblem && error.what === 'offline' && performance.now() - begun >= SLOW_MS;
    if (slow) pagesOf = Math.ceil(pagesOf / 2);
    throw error;
  }
}

/** @param {string} token */
async function fetchPractice(token) {
  const practice = await request('/api/practice', token);
  if (!practice || !Array.isArray(practice.people)) throw new WireProblem('strange', 'The list of people could not be read.');
  await setMeta('practice', practice);
  update({ practice });
}

/** The PIN is forgotten: what lies sealed goes to the practice as it is. @param {string} wrapped */
export async function sendSealed(wrapped) {
  const token = await readToken();
  if (!token) throw new Error(CONNECT_WORDS);
  await pushSealed(token, wrapped, batchGoes, receiptCame);
  await pushPhotos(token, photosLeft);
}

/** At a start, once: whether the app ended before all exams of the past had come. From then on the fetching itself tells. */
export async function readComing() {
  show({ coming: Boolean((await getMeta('pull'))?.more) });
}

/** Own entries, those not sent, and the receipt. */
export async function refreshCounts() {
  counted = performance.now();
  const [known, token, revoked, photos] = await Promise.all([counts(), getMeta('token'), getMeta('revoked'), waitingPhotos()]);
  show({ ...known, photos: photos.length, connected: Boolean(token), revoked: Boolean(revoked) });
}

/** Nobody waits for this one: a storage that fails for a moment is said on the chip's page. */
async function recount() {
  try {
    await refreshCounts();
  } catch (error) {
    show(standingOf(error));
  }
}

/** @param {Partial<import('./types').SyncState>} patch */
function show(patch) {
  update({ sync: { ...state.sync, ...patch } });
}
