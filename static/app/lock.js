/** When the phone locks and opens: PIN, five minutes hidden, a forgotten PIN. A started exam is never in its way. */
import { setMeta } from './db.js';
import { sealAllRows, closeSealedRows } from './journal.js';
import { clear } from './shelf.js';
import { state, update } from './state.js';
import { refreshCounts, sendNow, sendSealed } from './sync.js';
import { dropLock, holdForExam, makeLock, pinIsSound, serverWrapped, shut, stateOfVault, unlock } from './vault.js';

const HIDDEN_MS = 5 * 60000;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
let hiddenAt = 0;

/** Watch the page: hidden for five minutes without an open exam, the key is dropped. */
export function watchLock() {
  document.addEventListener('visibilitychange', () => {
    clearTimeout(timer);
    if (document.visibilityState === 'hidden') {
      hiddenAt = Date.now();
      timer = setTimeout(lockNow, HIDDEN_MS);
    } else if (hiddenAt && Date.now() - hiddenAt >= HIDDEN_MS) lockNow();
  });
}

/** Lock unless an exam is open (or there is no PIN). */
export async function lockNow() {
  if (stateOfVault() !== 'open' || state.session) return;
  await shut();
  clear();
  update({ screen: 'locked', list: null, resume: null, form: { pin: '', words: '' } });
}

/** The exam on the screen decides whether the key may wait in storage. @param {boolean} open */
export function examIsOpen(open) {
  return holdForExam(open);
}

/** @param {string} pin @param {() => Promise<void>} onOpen */
export async function tryPin(pin, onOpen) {
  if (!pinIsSound(pin)) {
    update({ form: { ...state.form, words: 'A PIN has 4 to 8 digits.' } });
    return;
  }
  update({ form: { ...state.form, busy: true } });
  const outcome = await unlock(pin);
  if (outcome === 'open') {
    await onOpen();
    sendNow();
    return;
  }
  update({ form: { pin: '', words: outcome === 'wrong' ? 'That is not the PIN.' : '', busy: false } });
}

/** Set the first PIN: seals all that lies open. @param {string} pin */
export async function setPin(pin) {
  const key = state.practice?.server_key;
  if (!key) throw new Error('The practice\'s key is not on this phone yet: connect first.');
  await makeLock(pin, key);
  await sealAllRows();
}

/**
 * The PIN is forgotten: send what lies sealed, and only when all of it is acknowledged begin anew, not connected.
 * @returns {Promise<void>}
 */
export async function startAnew() {
  const wrapped = serverWrapped();
  if (!wrapped) throw new Error('This phone has no key of the practice.');
  await sendSealed(wrapped);
  await refreshCounts();
  if (state.sync.pending) throw new Error(`${state.sync.pending} entries are not acknowledged: nothing was changed.`);
  await closeSealedRows();
  await setMeta('token', null);
  await setMeta('pull', null);
  await dropLock();
  clear();
  await refreshCounts();
}
