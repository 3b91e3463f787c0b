/** A nine-field sketch of an organ: one tap places a lesion. Which way it lies is written on it. */
import { html, nothing } from 'lit-html';
import { state } from './state.js';
import { descriptors, ofOrgan } from './tables.js';

/** @param {string} structure @returns {{rows: string[], columns: string[], side: string}} */
export function sketchOf(structure) {
  const { sketch } = descriptors();
  return ofOrgan(sketch, structure) || sketch.default;
}

/** The words of a field: "caudal pole, medial"; a middle is not said twice. @param {string} row @param {string} column */
export function siteWords(row, column) {
  const named = [row, column].filter((word) => word !== 'middle');
  return named.join(', ') || 'middle';
}

/** @param {string} structure @param {string | undefined} now @param {(site: string | undefined) => void} set */
export function sketchView(structure, now, set) {
  const { rows, columns, side } = sketchOf(structure);
  return html`<h3>on the organ (${side}): ${now || 'not placed'}</h3>
    <div class="sketch" role="group" aria-label="place on the organ"><span></span>${columns.map((column) => html`<span class="sketch-head">${column}</span>`)}
      ${rows.map((row) => html`<span class="sketch-head">${row}</span>${columns.map((column) => field(siteWords(row, column), now, set))}`)}</div>`;
}

/** @param {string} words @param {string | undefined} now @param {(site: string | undefined) => void} set */
function field(words, now, set) {
  const on = words === now;
  return html`<button class="sketch-field ${on ? 'on' : ''}" aria-pressed=${on ? 'true' : 'false'} aria-label=${words} data-site=${words}
    @click=${() => set(on ? undefined : words)}>${on ? html`<span aria-hidden="true">\u25cf</span>` : nothing}</button>`;
}

/** The number after the highest that lesions of this structure have, in this exam and among those to be found again. */
export function nextNumber() {
  const session = state.session;
  if (!session) return 1;
  const told = [...session.view.findings.filter((one) => !one.struck && NUMBERED.includes(one.finding)), ...soughtHere()];
  const numbers = told.filter((one) => one.structure === session.structure).map((one) => Number(one.number) || 1);
  return Math.max(0, ...numbers) + 1;
}

/** Found again in the next exam by their number. */
export const NUMBERED = ['mass', 'nodule', 'cyst'];

/** Lesions of the earlier exam that nobody has described today. @returns {any[]} */
export function soughtHere() {
  const session = state.session;
  return (session?.judgement?.open || []).filter((line) => line.kind === 'find_again' && line.structure === session?.structure);
}
