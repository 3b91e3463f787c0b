/** Controls that several screens share: a panel over the keys, a choice with a tick, a list that toggles. */
import { html, nothing } from 'lit-html';
import { furtherInPanel } from './further.js';
import { keepPosition } from './hand.js';
import { helpLine } from './help.js';
import { state, updateSession } from './state.js';

function close() {
  updateSession({ panel: null });
  keepPosition();
}

/** @param {string[]} list @param {string} item */
export function toggled(list, item) {
  return list.includes(item) ? list.filter((one) => one !== item) : [...list, item];
}

/** @param {string} title @param {unknown} content @param {unknown} [end] */
export function panel(title, content, end = nothing) {
  return html`<section class="panel" aria-label=${title}>
    <div class="panel-head"><h2>${title}</h2>${furtherInPanel()}<button class="panel-close" data-act="close" @click=${close}>back</button></div>
    ${state.session?.panel?.held ? html`<p class="problem-words" role="alert">${state.session.panel.held}</p>` : nothing}
    <div class="panel-body">${helpLine(state.session?.panel?.kind || '')}${content}</div>${end}</section>`;
}

/** A row of a keypad: its word key stands on the side of the thumb. @param {unknown[]} digits @param {unknown} word */
export function keyRow(digits, word) {
  return state.settings.hand === 'left' ? [word, ...digits] : [...digits, word];
}

/** @param {string} words @param {() => void} act @param {boolean} [on] */
export function chipButton(words, act, on = false) {
  return html`<button class="choice ${on ? 'on' : ''}" aria-pressed=${on ? 'true' : 'false'} data-choice=${words} @click=${act}>${words}</button>`;
}

/**
 * Small keys for a number that belongs beside the readings (a depth, a picture's number), in an own panel.
 * @param {{typed: string, unit?: string, name: string, keys?: string[], press: (key: string) => void, erase: () => void, keep: () => void, words: string, problem?: string | null}} keys
 */
export function smallKeys({ typed, unit = '', name, keys = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '0', '.'], press, erase, keep, words, problem }) {
  return html`<div class="size-keys" role="group" aria-label="keys for ${words}"><output class="size-typed" data-typed=${name}>${typed} <small>${unit}</small></output>
    ${keys.map((key) => html`<button class="key" data-key-of=${name} data-small-key=${key} @click=${() => press(key)}>${key}</button>`)}
    <button class="key word" @click=${erase}>erase</button>
    <button class="key word" data-act="${name}-done" @click=${keep}>${words}</button></div>
    ${problem ? html`<p class="problem-words" role="alert">${problem}</p>` : nothing}`;
}

/** Change the panel on the screen. @param {any} patch */
export function changePanel(patch) {
  updateSession({ panel: { ...state.session?.panel, held: null, ...patch } });
  keepPosition();
}
