/** Treatments and signs that change what a value means: chips, all optional, on the start page and on the animal's. */
import { html } from 'lit-html';
import { chipButton, toggled } from './controls.js';

const TREATMENTS = ['trilostane', 'mitotane', 'steroid', 'fludrocortisone', 'diuretic', 'other'];
const SIGNS = /** @type {[string, string][]} */ ([
  ['hypoadrenocorticism_suspected', 'low adrenal function suspected'],
  ['hyperadrenocorticism_proven', 'high adrenal function proven'],
  ['chronic_kidney_disease_suspected', 'chronic kidney disease suspected'],
  ['jaundice', 'jaundice'],
  ['vomiting', 'vomiting'],
]);

/**
 * A steroid given now is also a steroid of the last year.
 * @param {Record<string, any>} context @param {string} treatment
 * @returns {[string, any][]} fields of the context to set, with their values
 */
export function treatmentFields(context, treatment) {
  const treatments = toggled(context.treatments || [], treatment);
  const given = treatment === 'steroid' && treatments.includes('steroid') && context.steroids !== 'yes';
  return given ? [['treatments', treatments], ['steroids', 'yes']] : [['treatments', treatments]];
}

/** @param {Record<string, any>} context @param {(fields: [string, any][]) => void} set */
export function treatmentChips(context, set) {
  const now = context.treatments || [];
  return html`<div class="choices" data-group="treatments">${TREATMENTS.map((one) =>
    chipButton(one, () => set(treatmentFields(context, one)), now.includes(one)))}</div>`;
}

/** @param {Record<string, any>} context @param {(fields: [string, any][]) => void} set */
export function signChips(context, set) {
  const now = context.signs || [];
  return html`<div class="choices two" data-group="signs">${SIGNS.map(([id, words]) =>
    chipButton(words, () => set([['signs', toggled(now, id)]]), now.includes(id)))}</div>`;
}
