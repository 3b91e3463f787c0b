/** Screens of the lock: PIN keys, a new PIN, the forgotten one, a revoked phone. */
import { html, nothing } from 'lit-html';
import { chip } from './chip.js';
import { keyRow } from './controls.js';
import { giveCopy } from './copy.js';
import { lockNow, setPin, startAnew, tryPin } from './lock.js';
import { state, update } from './state.js';
import { sendNow } from './sync.js';
import { changePin, pinIsSound, stateOfVault, triesLeft } from './vault.js';

/** @type {() => Promise<void>} set by the page: what follows an opened lock */
let afterUnlock = async () => undefined;

/** @param {() => Promise<void>} then */
export function onUnlocked(then) {
  afterUnlock = then;
}

/** Back to where the person came from: the exam in hand, else the list. @param {any} [more] */
export function leave(more) {
  update({ screen: state.session ? 'exam' : 'list', form: null, ...more });
}

/** @param {any} patch */
export function change(patch) {
  update({ form: { ...state.form, ...patch } });
}

/** @param {string} key */
export function pressPin(key) {
  const pin = `${state.form?.pin || ''}${key}`;
  if (/^[0-9]{1,8}$/.test(pin)) change({ pin, words: '' });
}

/** @param {string} words @param {() => void} done */
function pinKeys(words, done) {
  const pin = state.form?.pin || '';
  const key = (/** @type {string} */ name) => html`<button class="key" data-key=${name} @click=${() => pressPin(name)}>${name}</button>`;
  return html`<p class="pin-dots" role="img" aria-label="${pin.length} digits typed">${'\u25cf'.repeat(pin.length) || '_'}</p>
    <div class="keypad pin-keys" role="group" aria-label="PIN keys">
      ${keyRow(['7', '8', '9'].map(key), html`<button class="key word" @click=${() => change({ pin: pin.slice(0, -1), words: '' })}>erase</button>`)}
      ${keyRow(['4', '5', '6'].map(key), html`<span></span>`)}${keyRow(['1', '2', '3'].map(key), html`<span></span>`)}
      ${keyRow([html`<span></span>`, key('0'), html`<span></span>`], html`<button class="key keep" data-act="pin-done" ?disabled=${state.form?.busy} @click=${done}>${words}</button>`)}</div>`;
}

export function words() {
  return state.form?.words ? html`<p class="problem-words" role="alert">${state.form.words}</p>` : nothing;
}

/** Enter and the erase key of a keyboard beside the phone. @param {string} key @returns {boolean} whether it was one of them */
export function pinKey(key) {
  if (key === 'Backspace') change({ pin: (state.form?.pin || '').slice(0, -1), words: '' });
  else if (key === 'Enter' && !state.form?.busy) enterPin();
  else return false;
  return true;
}

function enterPin() {
  if (state.screen === 'pin') pinDone();
  else if (stateOfVault() !== 'blocked') tryPin(state.form?.pin || '', afterUnlock);
}

export function lockedView() {
  const blocked = stateOfVault() === 'blocked';
  const left = triesLeft();
  return html`<div class="page locked" data-lock=${stateOfVault()}>
    <h1>${blocked ? 'PIN blocked' : 'PIN of this phone'}</h1>
    ${blocked
      ? html`<p class="asked">Ten wrong PINs. Nothing is lost: ${state.sync.pending ? `${state.sync.pending} entries that are not sent can go to the practice as they are.` : 'all entries of this phone are at the practice.'}</p>`
      : html`<p class="asked">${left < 10 ? `${left} tries left` : 'The notes on this phone are sealed.'}</p>${words()}${pinKeys('open', enterPin)}`}
    ${blocked ? words() : nothing}
    ${state.form?.said ? html`<p class="notice calm" role="status">${state.form.said}</p>` : nothing}
    <div class="ends"><button class="answer wide quiet" data-act="copy" @click=${sealedCopy}>give me a copy (sealed; the practice can open it)</button>
      <button class="answer wide quiet" data-act="forgotten" @click=${forgotten}>PIN forgotten: send all to the practice, then pair again</button></div>
  </div>`;
}

async function sealedCopy() {
  change({ said: await giveCopy() });
}

async function forgotten() {
  if (!state.form?.sure) {
    change({ sure: true, words: 'All sealed entries go to the practice; afterwards this phone has to be connected again. Tap once more to do it.' });
    return;
  }
  try {
    await startAnew();
    update({ screen: 'pair', form: { code: '', words: 'All entries are at the practice. Pair this phone again.' } });
  } catch (error) {
    change({ sure: false, words: error instanceof Error ? error.message : String(error) });
  }
}

/** Choosing a PIN: typed twice; a new one asks for the one in use first. */
export function pinView() {
  const form = state.form || {};
  const asksOld = form.change && !form.old;
  const title = asksOld ? 'The PIN in use' : form.first ? 'The same PIN again' : form.change ? 'Choose the new PIN' : 'Choose a PIN for this phone';
  return html`<div class="page locked">
    <h1>${title}</h1>
    <p class="asked">${asksOld ? 'Before another PIN can be set.' : '4 to 8 digits. It seals the notes on this phone; if it is forgotten, the practice can still open them.'}</p>
    ${words()}${pinKeys(asksOld ? 'go on' : 'keep', pinDone)}
    <div class="ends"><button class="answer wide quiet" data-act="pin-later" @click=${() => leave()}>${form.change ? 'keep the old one' : 'later'}</button></div>
  </div>`;
}

async function pinDone() {
  const form = state.form || {};
  if (!pinIsSound(form.pin || '')) change({ words: 'A PIN has 4 to 8 digits.' });
  else if (form.change && !form.old) change({ old: form.pin, pin: '', words: '' });
  else if (!form.first) change({ first: form.pin, pin: '', words: '' });
  else if (form.first !== form.pin) change({ first: null, pin: '', words: 'The two were not the same. Once more, please.' });
  else {
    change({ busy: true });
    try {
      await (form.change ? otherPin(form.old, form.pin) : firstPin(form.pin));
    } catch (error) {
      change({ busy: false, first: null, pin: '', words: error instanceof Error ? error.message : String(error) });
    }
  }
}

/** @param {string} pin */
async function firstPin(pin) {
  await setPin(pin);
  leave({ list: null });
  sendNow();
}

/** @param {string} before @param {string} pin */
async function otherPin(before, pin) {
  const outcome = await changePin(before, pin);
  if (outcome === 'changed') update({ screen: 'settings', form: { back: 'list', said: 'The PIN was changed.' } });
  else if (outcome === 'blocked') await blockedNow();
  else update({ form: { change: true, pin: '', words: `That was not the PIN in use: nothing was changed. ${triesLeft()} tries left.` } });
}

/** Ten wrong PINs: the phone is locked, or as soon as the exam in hand is left. */
async function blockedNow() {
  leave({ list: null });
  await lockNow();
}

/** The desk revoked this phone: it only sends, and then clears itself. */
export function revokedView() {
  const { pending, reason } = state.sync;
  return html`<div class="page locked" data-revoked="yes">
    <h1>This phone was revoked</h1>
    <p class="asked">${pending ? `${pending} entries are not at the practice yet. They are sent as soon as it can be reached; then this phone clears itself.` : 'All its entries are at the practice. It clears itself as soon as the practice has confirmed that.'}</p>
    ${chip()}${reason ? html`<p class="small">${reason}</p>` : nothing}
    <div class="ends"><button class="answer wide" data-act="send-now" @click=${sendNow}>send now</button></div>
  </div>`;
}
