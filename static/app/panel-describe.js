/** Descriptors of a structure: closed lists in the trade's words, several at once; kept as one set per list that was touched. */
import { html } from 'lit-html';
import { setFields } from './acts.js';
import { changePanel as change, chipButton, panel, toggled } from './controls.js';
import { keepPosition } from './hand.js';
import { state, updateSession } from './state.js';
import { descriptors, label, ofOrgan } from './tables.js';

const TITLES = /** @type {Record<string, string>} */ ({ fat_around: 'fat around it' });

/** @param {string} structure @returns {{id: string, label: string, words: string[]}[]} */
export function groupsOf(structure) {
  const { adrenal, organs } = descriptors();
  if (!structure.startsWith('adrenal.')) return ofOrgan(organs, structure) || [];
  const side = structure.endsWith('.left') ? 'left' : 'right';
  const lists = { ...adrenal, shape: [...adrenal.shape[side], ...adrenal.shape.both] };
  return ['shape', 'capsule', 'layers', 'echogenicity', 'fat_around', 'mineral'].map((id) => ({ id, label: TITLES[id] || id, words: lists[id] }));
}

/** @param {any} at */
export function describePanel(at) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const now = (/** @type {string} */ key) => at.chosen[key] || session.view.fields[`${session.structure}.${key}`] || [];
  const keys = Object.keys(at.chosen);
  const keep = () => {
    updateSession({ panel: null });
    keepPosition();
    setFields(keys.map((key) => ({ about: `${session.structure}.${key}`, value: at.chosen[key] })), `${label(session.structure)}: described`);
  };
  return panel(`${label(session.structure)}: describe`, html`${groupsOf(session.structure).map(({ id, label: title, words }) => html`<h3>${title}</h3>
    <div class="choices">${words.map((word) => chipButton(word, () => change({ chosen: { ...at.chosen, [id]: toggled(now(id), word) } }), now(id).includes(word)))}</div>`)}`,
    html`<button class="answer wide normal" data-act="describe-done" ?disabled=${!keys.length} @click=${keep}>keep the description</button>`);
}
