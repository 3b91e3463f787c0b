/**
 * What the hand is at: an exam that is not finished, on the screen or waiting to be resumed after a kill. Neither PIN
 * nor the desk's word stands in its way. Its place and half-typed digits are kept; sealed where there is a PIN.
 */
import { getDraft, setDraft, transaction } from './db.js';
import { state } from './state.js';
import { isReadable, knows, openText, sealText, stateOfVault } from './vault.js';

/** An exam that is going on, or one of which something is not kept yet. */
export function examInHand() {
  const { session, resume } = state;
  if (resume?.position) return true;
  if (!session) return false;
  const over = session.view.closed || session.view.signed;
  return !over || Boolean(session.unsaved || session.typed || session.provisional.length);
}

/** Whether another window of this app has an exam in hand: the place that is kept is not this window's. @returns {Promise<boolean>} */
export async function handElsewhere() {
  const position = await getDraft('position');
  return Boolean(position) && position.exam !== (state.session?.id || state.resume?.position?.exam);
}

/** @param {string} key @param {any} value null removes it; else it names its `exam`, which alone stays readable without the PIN */
export async function keepDraft(key, value) {
  await setDraft(key, value === null || stateOfVault() === 'none' ? value : await sealedDraft(key, value));
}

/** The same for what can be made again, in one step with a look at the lock: another window may have set a PIN. @param {string} key @param {any} value */
export async function keepUnlessLocked(key, value) {
  const row = stateOfVault() === 'none' ? value : await sealedDraft(key, value);
  await transaction(['draft', 'meta'], 'readwrite', async (tx) => {
    if (knows(await tx.objectStore('meta').get('lock'))) await tx.objectStore('draft').put(row, key);
  }, 'relaxed');
}

/** @param {string} key @returns {Promise<any>} null where there is none, or the phone is locked */
export async function readDraft(key) {
  const kept = await getDraft(key);
  if (!kept?.sealed) return kept || null;
  return isReadable() ? JSON.parse(await openText(key, kept.sealed)) : null;
}

/** Seal the drafts that lie open (a PIN was set just now). */
export async function sealDrafts() {
  const keys = /** @type {any[]} */ (await transaction(['draft'], 'readonly', (tx) => tx.objectStore('draft').getAllKeys()));
  for (const key of keys.filter((one) => one !== 'held_key')) {
    const kept = await getDraft(key);
    if (kept && !kept.sealed) await keepDraft(key, kept);
  }
}

/** @param {string} key @param {any} value */
async function sealedDraft(key, value) {
  return { exam: value.exam, sealed: await sealText(key, JSON.stringify(value)) };
}
