/** Where to look next for a part that hides: windows and manoeuvres, the untried first; a tick is an entry. */
import { html, nothing } from 'lit-html';
import { setFields } from './acts.js';
import { state } from './state.js';
import { label, structureIdOf } from './tables.js';

/** @param {import('./types').Line} line */
export function windowsView(line) {
  const list = line.windows || [];
  const structure = line.structure || structureIdOf(line.about);
  if (!list.length || !structure) return nothing;
  const field = `${structure}.windows_tried`;
  const tried = /** @type {string[]} */ (state.session?.view.fields[field] || []);
  const tick = (/** @type {string} */ id) => {
    const value = tried.includes(id) ? tried.filter((one) => one !== id) : [...tried, id];
    setFields([{ about: field, value }], `${label(structure)}: windows tried`);
  };
  return html`<details class="fold"><summary>where to look next (${list.filter((one) => !tried.includes(one.id)).length} not tried)</summary>
    ${list.map((one) => html`<button class="window ${tried.includes(one.id) ? 'on' : ''}" aria-pressed=${tried.includes(one.id) ? 'true' : 'false'} data-window=${one.id} @click=${() => tick(one.id)}>
      <b>${tried.includes(one.id) ? 'tried: ' : ''}${one.label}</b><span>${one.how}</span></button>`)}</details>`;
}
