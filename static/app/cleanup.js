/**
 * Acknowledged exams leave the phone after the practice's days. Never an entry that is not sent, never an animal of
 * the coming list, never the exam in hand; what left is counted and written down.
 */
import { getMeta, setMeta, transaction } from './db.js';
import { localTime } from './entry.js';
import { readDraft } from './in-hand.js';
import { SENT, deviceState } from './journal.js';
import { oldGroups, sentSince } from './leaving.js';
import { tidyPhotos } from './photos.js';
import { find, forget } from './shelf.js';
import { state, update } from './state.js';
import { isReadable } from './vault.js';
import { WAITING, ids as waitingIds } from './waiting.js';

export const KEEP_DAYS = 30;
const LOG_LENGTH = 30;

/** @typedef {import('./leaving.js').Group} Group */

/**
 * Once a day, after a fetch, by the practice's day: this phone's own clock may be wrong. A locked phone cannot tell how
 * old its entries are, and waits. @param {string | null} today null: the practice did not say
 */
export async function tidy(today) {
  if (!today || (await getMeta('tidied')) === today || !isReadable()) return;
  const days = state.practice?.lock?.keep_days ?? KEEP_DAYS;
  const position = await readDraft('position');
  const inHand = state.session?.id || position?.exam || null;
  const entries = await find(() => true);
  const waiting = new Set(await transaction([WAITING], 'readonly', waitingIds));
  const sent = sentSince(entries, waiting, (await getMeta(SENT)) || {}, today);
  const groups = oldGroups(entries, { today, days, inHand, names: await ownNames(), sent });
  await setMeta(SENT, sent);
  const gone = groups.length ? await remove(groups) : [];
  await tidyPhotos(new Set((await find(() => true)).map((entry) => String(entry.exam))));
  await setMeta('tidied', today);
  if (!gone.length) return;
  const line = { at: localTime(), days, exams: gone.length, entries: gone.reduce((sum, group) => sum + group.ids.length, 0) };
  const log = [line, ...((await getMeta('left')) || [])].slice(0, LOG_LENGTH);
  await setMeta('left', log);
  update({ left: log, list: null });
}

/** The devices that this phone is, or was before a copy of it was noticed. @returns {Promise<string[]>} */
async function ownNames() {
  const former = /** @type {{device: string}[]} */ ((await getMeta('former')) || []);
  return [(await deviceState()).device, ...former.map((one) => one.device)];
}

/** Remove groups of which every entry is acknowledged, asked again inside the transaction. @param {Group[]} groups @returns {Promise<Group[]>} those removed */
async function remove(groups) {
  const gone = await transaction(['entries', WAITING], 'readwrite', async (tx) => {
    const store = tx.objectStore('entries');
    const waiting = new Set(await waitingIds(tx));
    const removed = [];
    for (const group of groups) {
      const rows = await Promise.all(group.ids.map((id) => store.get(id)));
      if (rows.some((row) => !row || waiting.has(row.id))) continue;
      for (const id of group.ids) await store.delete(id);
      removed.push(group);
    }
    return removed;
  });
  forget(gone.flatMap((/** @type {Group} */ group) => group.ids));
  return gone;
}
