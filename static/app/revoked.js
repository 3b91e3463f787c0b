/** A phone that the desk revoked: it keeps sending, and clears itself only when the receipt covers all it has. */
import { deviceState, getMeta, setMeta } from './journal.js';
import { transaction } from './db.js';
import { localTime } from './entry.js';
import { examInHand } from './in-hand.js';
import { covered } from './leaving.js';
import { copyLater, dropCopy } from './second.js';
import { clear } from './shelf.js';
import { state, update } from './state.js';
import { forgetVault, shut, stateOfVault } from './vault.js';
import { WAITING, count } from './waiting.js';

const EVERYTHING = ['entries', 'meta', 'draft', WAITING, 'photos', 'photos_waiting'];

/** @param {boolean} revoked */
export async function setRevoked(revoked) {
  await setMeta('revoked', revoked ? (await getMeta('revoked')) || localTime() : null);
}

/** Nothing more is read on a revoked phone; what waits goes sealed, as it lies. An exam in hand is not interrupted. */
export async function lockRevoked() {
  if (examInHand() || stateOfVault() !== 'open') return;
  await shut();
  clear();
  update({ session: null, list: null, resume: null });
}

/** Clear the phone if that loses nothing and no exam is in hand. @returns {Promise<boolean>} */
export async function clearWhenCovered() {
  const { device, seq } = await deviceState();
  const { pending, receipt, own } = state.sync;
  if (examInHand() || !covered({ pending, device, seq, receipt })) return false;
  const practice = state.practice?.practice || 'the practice';
  // Before the rest: a phone that dies between the two would else come back by its second copy.
  await dropCopy();
  const cleared = await transaction([...EVERYTHING], 'readwrite', async (tx) => {
    // Asked once more inside: another window may have written meanwhile.
    const now = await tx.objectStore('meta').get('device');
    const waiting = (await count(tx)) || (await tx.objectStore('photos_waiting').count());
    // Paired anew meanwhile: then it is no longer revoked.
    if (!(await tx.objectStore('meta').get('revoked'))) return false;
    if (waiting || (now && (now.device !== device || now.seq !== seq))) return false;
    for (const name of EVERYTHING) await tx.objectStore(name).clear();
    await tx.objectStore('meta').put({ at: localTime(), entries: own, practice }, 'cleared');
    return true;
  });
  if (!cleared) {
    copyLater(null);
    return false;
  }
  clear();
  forgetVault();
  new BroadcastChannel('gelside-lock').postMessage({ gone: true });
  location.reload();
  return true;
}
