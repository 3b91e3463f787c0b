/** On top of the screens that have no chip of their own: what is not sent, as a sign to read, and what is not saved. */
import { html, nothing } from 'lit-html';
import { chipSign } from './chip.js';
import { state } from './state.js';
import { echoView } from './view-keypad.js';

/** These carry the chip on top as a control, or come before anything is known. */
const WITHOUT = ['starting', 'stopped', 'list', 'exam', 'revoked'];
/** These show what is not saved in the line above the keys. */
const SAY_IT = ['exam', 'open'];

export function stripView() {
  const sign = WITHOUT.includes(state.screen) ? nothing : chipSign();
  const unsaved = state.session?.unsaved && !SAY_IT.includes(state.screen) ? echoView() : nothing;
  return sign === nothing && unsaved === nothing ? nothing : html`<div class="strip">${sign}${unsaved}</div>`;
}
