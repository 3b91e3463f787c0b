/** The screen around the limits register: asked of the rules when it is opened, so it works without a network. */
import { html, nothing } from 'lit-html';
import { ask } from './engine.js';
import { inHand } from './who.js';
import { state, update } from './state.js';
import { showLimits } from './view-limits.js';

/** @type {any} the register of the rules that run, or null until it is asked for */
let register = null;

export async function openRegister() {
  const back = state.form?.back || 'list';
  update({ screen: 'limits', form: { back, words: 'asking the rules ...' } });
  let words = '';
  try {
    ({ register } = await ask({ do: 'register' }));
  } catch (error) {
    words = error instanceof Error ? error.message : String(error);
  }
  // Whoever left meanwhile has another form in hand.
  if (state.screen === 'limits') update({ form: { back, words } });
}

export function registerView() {
  const { back, words } = state.form || {};
  return html`<div class="page">
    ${inHand()}
    <div class="bar"><h1>Limits</h1><button class="finish" data-act="back" @click=${() => update({ screen: 'settings', form: { back } })}>back</button></div>
    ${words ? html`<p class="notice">${words}</p>` : nothing}
    <div id="limits"></div>
  </div>`;
}

/** After drawing: the register is plain DOM in a place of its own, filled once. */
export function afterRegister() {
  const place = document.getElementById('limits');
  if (!place || !register || state.screen !== 'limits' || state.form?.words || place.firstChild) return;
  showLimits(place, register);
}
