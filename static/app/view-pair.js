/** Connecting this phone: the desk's picture or its typed code, then the number to compare. */
import { html, nothing } from 'lit-html';
import { pair } from './pair.js';
import { ScanProblem, secretIn } from './scan.js';
import { state, update } from './state.js';
import { sendNow } from './sync.js';
import { stateOfVault } from './vault.js';
import { change, leave, words } from './view-lock.js';

/** @param {any} answer of the practice after the desk confirmed */
async function onConnected(answer) {
  const ask = answer.lock?.pin && stateOfVault() === 'none';
  if (ask) update({ screen: 'pin', form: { pin: '' }, list: null });
  else leave({ list: null });
  sendNow();
}

function begin() {
  const { secret, code, name } = state.form || {};
  change({ busy: true, words: '' });
  pair(secret ? { secret } : { code: code || '' }, name || 'Phone', onConnected);
}

/** @param {Event} event of the picture that was taken */
async function scan(event) {
  const input = /** @type {HTMLInputElement} */ (event.target);
  const file = input.files?.[0];
  if (!file) return;
  change({ busy: true, words: '' });
  try {
    change({ secret: await secretIn(file), busy: false });
  } catch (error) {
    if (!(error instanceof ScanProblem)) throw error;
    change({ busy: false, words: error.message });
  } finally {
    // The same picture may be chosen again.
    input.value = '';
  }
}

function numberView() {
  const { number } = state.form;
  return html`<div class="page locked"><h1>Compare this number</h1>
    <p class="pair-number" data-number=${number}>${number.slice(0, 3)} ${number.slice(3)}</p>
    <p class="asked">The desk must show the same six digits. Confirm it there; this page goes on by itself.</p>
    <div class="ends"><button class="answer wide quiet" data-act="stop" @click=${() => leave()}>stop</button></div></div>`;
}

/** The desk's code: by a picture of it, or typed. */
function codeFields() {
  const { code, busy } = state.form || {};
  return html`<p class="asked">The desk shows a picture and ten characters. One of them is enough.</p>
    <label class="answer wide normal file" data-act="scan">take a picture of the desk's picture
      <input type="file" accept="image/*" capture="environment" ?disabled=${busy || Boolean(state.stopped)} @change=${scan}></label>
    <label class="small" for="pair-code">or type the ten characters</label>
    <input id="pair-code" class="text" type="text" autocomplete="off" autocapitalize="characters" spellcheck="false" .value=${code || ''} @input=${(/** @type {any} */ event) => change({ code: event.target.value })}>`;
}

export function pairView() {
  const form = state.form || {};
  if (form.number) return numberView();
  return html`<div class="page locked"><h1>Pair this phone</h1>
    ${form.secret ? html`<p class="asked" data-read="yes">The code of the desk was read.</p>` : codeFields()}
    <label class="small" for="pair-name">name of this phone</label>
    <input id="pair-name" class="text" type="text" autocomplete="off" maxlength="40" .value=${form.name || ''} @input=${(/** @type {any} */ event) => change({ name: event.target.value })}>
    ${words()}${state.stopped ? html`<p class="problem-words" role="alert">${state.stopped}</p>` : nothing}
    <div class="ends"><button class="answer wide normal" data-act="pair" ?disabled=${form.busy || Boolean(state.stopped)} @click=${begin}>connect</button>
      <button class="answer wide quiet" data-act="back" @click=${() => leave()}>back</button></div></div>`;
}
