/** Controls that several screens share: a panel over the keys, a choice with a tick, a list that toggles. */
import { html, nothing } from 'lit-html';
import { state, updateSession } from './state.js';

function close() {
  updateSession({ panel: null });
}

/** @param {string[]} list @param {string} item */
export function toggled(list, item) {
  return list.includes(item) ? list.filter((one) => one !== item) : [...list, item];
}

/** @param {string} title @param {unknown} content @param {unknown} [end] */
export function panel(title, content, end = nothing) {
  return html`<section class="panel" aria-label=${title}>
    <div class="panel-head"><h2>${title}</h2><button class="panel-close" data-act="close" @click=${close}>back</button></div>
    <div class="panel-body">${content}</div>${end}</section>`;
}

/** @param {string} words @param {() => void} act @param {boolean} [on] */
export function chipButton(words, act, on = false) {
  return html`<button class="choice ${on ? 'on' : ''}" aria-pressed=${on ? 'true' : 'false'} data-choice=${words} @click=${act}>${words}</button>`;
}

/** Change the panel on the screen. @param {any} patch */
export function changePanel(patch) {
  updateSession({ panel: { ...state.session?.panel, ...patch } });
}
