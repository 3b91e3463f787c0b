/** When the phone locks and opens: PIN, five minutes hidden, a forgotten PIN. A started exam is never in its way. */
import { examInHand, handElsewhere, keepDraft, readDraft, sealDrafts } from './in-hand.js';
import { closeSealedRows, sealAllRows } from './journal.js';
import { sealAllPhotos } from './photos.js';
import { clear } from './shelf.js';
import { state, update } from './state.js';
import { refreshCounts, sendNow, sendSealed } from './sync.js';
import {
  forgetVault, holdKey, isReadable, keyForWindows, makeLock, openText, pinIsSound, sealText, sealingWasInterrupted, serverWrapped,
  shut, stateOfVault, takeKey, unlock, wakeVault,
} from './vault.js';

const HIDDEN_MS = 5 * 60000;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
/** When the page was hidden, by both clocks: one may be set back, the other may sleep. @type {{wall: number, run: number} | null} */
let hiddenAt = null;
/** The PIN was due while an exam was in hand: it is asked for when that is left. */
let due = false;
/** What was being typed when the phone locked, with its screen, sealed. @type {import('./vault.js').Sealed | null} */
let waitingForm = null;
/** Screens on which nothing is typed that would be missed. */
const NOTHING_TYPED = ['starting', 'list', 'settings', 'resume', 'limits', 'pair', 'pin', 'locked', 'revoked'];
/** @type {BroadcastChannel | null} */
let windows = null;

/** Watch the page: hidden for five minutes, the key is dropped. */
export function watchLock() {
  document.addEventListener('visibilitychange', () => {
    clearTimeout(timer);
    if (document.visibilityState === 'hidden') {
      hiddenAt = { wall: Date.now(), run: performance.now() };
      timer = setTimeout(lockNow, HIDDEN_MS);
    } else if (hiddenFor() >= HIDDEN_MS) lockNow();
  });
  windows = new BroadcastChannel('gelside-lock');
  windows.onmessage = (/** @type {MessageEvent} */ event) => heard(event.data);
}

function hiddenFor() {
  return hiddenAt ? Math.max(Date.now() - hiddenAt.wall, performance.now() - hiddenAt.run) : 0;
}

/** Another window set the PIN, locked, or began anew. @param {{key?: CryptoKey, shut?: boolean, gone?: boolean}} said */
async function heard({ key, shut: locked, gone }) {
  if (key) await takeKey(key);
  if (locked) await lockNow();
  if (gone && !state.session) location.reload();
}

/** A person locks the phone: every window of it. */
export async function lockAll() {
  windows?.postMessage({ shut: true });
  await lockNow();
}

/** Lock; while an exam is in hand, as soon as that is left. Without a PIN there is nothing to lock. */
export async function lockNow() {
  if (stateOfVault() !== 'open') return;
  due = examInHand();
  if (due) return;
  const { screen, form, session } = state;
  waitingForm = NOTHING_TYPED.includes(screen) || session ? null : await sealText('form', JSON.stringify({ screen, form }));
  const elsewhere = await handElsewhere();
  if (session && !elsewhere) await keepDraft('position', null);
  await shut(elsewhere);
  clear();
  update({ screen: 'locked', session: null, list: null, resume: null, form: { pin: '', words: '' } });
}

/** The screen changed: with an exam in hand the key may wait in storage, else not; a PIN that was due is asked for now. */
export async function handChanged() {
  if (stateOfVault() !== 'open') return;
  if (examInHand()) await holdKey(true);
  else if (due) await lockNow();
  else if (!(await handElsewhere())) await holdKey(false);
}

/**
 * The app starts: read the lock. Where the waiting key opens it without a PIN, that is for the exam in hand alone.
 * @param {(position: any) => Promise<any>} resumable @returns {Promise<boolean>} false: the PIN comes first
 */
export async function wake(resumable) {
  if ((await wakeVault()) !== 'open') return isReadable();
  const position = await readDraft('position');
  if (!(await resumable(position))) {
    await keepDraft('position', null);
    await shut();
    clear();
    return false;
  }
  due = Date.now() - new Date(position.at).getTime() >= HIDDEN_MS;
  await finishSealing();
  return true;
}

/** @param {string} pin @param {() => Promise<void>} onOpen */
export async function tryPin(pin, onOpen) {
  if (!pinIsSound(pin)) {
    update({ form: { ...state.form, words: 'A PIN has 4 to 8 digits.' } });
    return;
  }
  update({ form: { ...state.form, busy: true } });
  const outcome = await tryNow(pin);
  if (!outcome) return;
  if (outcome !== 'open') {
    update({ form: { pin: '', words: outcome === 'wrong' ? 'That is not the PIN.' : '', busy: false } });
    return;
  }
  due = false;
  await finishSealing();
  await onOpen();
  await backToForm();
  sendNow();
}

/** @param {string} pin @returns {Promise<'open' | 'wrong' | 'blocked' | null>} null: the storage did not answer, which is no matter of the PIN */
async function tryNow(pin) {
  try {
    return await unlock(pin, state.practice?.server_key);
  } catch (error) {
    update({ form: { ...state.form, words: error instanceof Error ? error.message : String(error), busy: false } });
    return null;
  }
}

/** What was being typed is there again. */
async function backToForm() {
  const sealed = waitingForm;
  waitingForm = null;
  if (sealed && state.screen === 'list') update(JSON.parse(await openText('form', sealed)));
}

/** Set the first PIN: seals all that lies open. @param {string} pin */
export async function setPin(pin) {
  const key = state.practice?.server_key;
  if (!key) throw new Error('The practice\'s key is not on this phone yet: connect first.');
  if (!(await makeLock(pin, key))) throw new Error('Another window set a PIN just now: that one holds. Start this window again.');
  windows?.postMessage({ key: keyForWindows() });
  await finishSealing();
  await handChanged();
}

/** Seal what lies open, also where that was interrupted. */
async function finishSealing() {
  if (!sealingWasInterrupted() || !isReadable()) return;
  await sealDrafts();
  await sealAllPhotos();
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
  if (state.sync.pending || !(await closeSealedRows())) {
    throw new Error(`${state.sync.pending} entries and ${state.sync.photos} pictures are not acknowledged: nothing was changed.`);
  }
  forgetVault();
  waitingForm = null;
  clear();
  windows?.postMessage({ gone: true });
  await refreshCounts();
}
