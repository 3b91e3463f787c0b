/** The sync chip: always on the screen, never alarming by itself, exact about what the practice holds. */
import { html, svg } from 'lit-html';
import { ageOf, chipWords } from './chip-words.js';
import { state, update } from './state.js';

/** @param {'calm' | 'old' | 'late'} age @param {string} sign */
function signOf(age, sign) {
  if (age === 'calm') return sign;
  const shape = age === 'old'
    ? svg`<path class="stroke" d="M6 3h12l-6 9zM6 21h12l-6-9z"/>`
    : svg`<path class="fill" d="M8 2h8l6 6v8l-6 6H8l-6-6V8z"/><path class="cut" d="M12 6v7M12 17v.6"/>`;
  return html`<svg class="mark" viewBox="0 0 24 24">${shape}</svg>`;
}

export function chip() {
  const { sync } = state;
  const age = ageOf(sync);
  return html`<button class="chip chip-${age}" data-sync=${sync.phase} data-age=${age} @click=${() => update({ screen: 'settings', form: { back: state.screen } })}>
    ${inside(age)}
  </button>`;
}

/** The same to read alone, where a tap would lose what is being typed. */
export function chipSign() {
  const { sync } = state;
  const age = ageOf(sync);
  return html`<p class="chip chip-read chip-${age}" data-sync=${sync.phase} data-age=${age}>${inside(age)}</p>`;
}

/** @param {'calm' | 'old' | 'late'} age */
function inside(age) {
  const { sync } = state;
  const sign = sync.connected && !sync.pending && sync.receipt && sync.held === sync.own && !sync.photos ? '=' : sync.pending || sync.photos ? '>' : '-';
  return html`<span class="chip-sign" aria-hidden="true">${signOf(age, sign)}</span>${chipWords(sync)}`;
}
