/** Is it the same animal? After an interruption: the same exam, structure and box, once the animal is confirmed. */
import { html } from 'lit-html';
import { show } from './exam.js';
import { viewOf } from './exam-view.js';
import { keptMeanwhile } from './hand.js';
import { keepDraft } from './in-hand.js';
import { examEntries } from './journal.js';
import { readingsOf } from './order.js';
import { agoWords } from './right-animal.js';
import { state, update } from './state.js';
import { label, quantityOf } from './tables.js';
import { patientWords } from './who.js';

/**
 * @typedef {object} Question
 * @property {import('./types').Patient} patient who would be opened
 * @property {string} [title] instead of the animal: a walk-in
 * @property {import('./types').Position} [position] of the exam that waits to be resumed
 * @property {import('./types').ExamView} [view] of it
 * @property {string[]} lines why it is asked
 * @property {{words: string, act: string, go: () => void}[]} choices the likely one first
 */

/** @param {import('./types').Position | null} written @returns {Promise<Question | null>} what to ask when the app starts with an exam in hand */
export async function resumable(written) {
  if (!written) return null;
  const view = viewOf(await examEntries(written.exam));
  if (!view || view.closed) return null;
  const position = keptMeanwhile(written, view);
  return {
    patient: view.patient,
    view,
    position,
    lines: [`you were at ${whereWords(position, view)}; ${agoWords(position.at, Date.now())}`],
    choices: [
      { words: 'yes, same animal, go on', act: 'go-on', go: () => show(written.exam, written) },
      { words: 'other animal', act: 'other-animal', go: () => other(position) },
    ],
  };
}

/** @param {import('./types').Position} position @param {import('./types').ExamView} view */
export function whereWords(position, view) {
  const row = position.row && quantityOf(position.row) ? position.row : null;
  if (!row) return label(position.structure);
  const number = readingsOf(view, row).filter((reading) => !reading.struck).length + 1;
  return `${label(row)}, reading ${number}${position.typed ? `, "${position.typed}" typed` : ''}`;
}

/** Another animal: half-typed digits wait for their own exam. @param {import('./types').Position} position */
export async function other(position) {
  if (position.typed) await keepDraft(`typed:${position.exam}`, position);
  await keepDraft('position', null);
  update({ screen: 'list', resume: null, session: null, list: null });
}

export function resumeView() {
  /** @type {Question} */
  const { patient, title, lines, choices } = state.resume;
  return html`<div class="page resume">
    <h1>${title || html`${patient.name || 'no name'}, ${patientWords(patient)}`}</h1>
    ${lines.map((line) => html`<p class="asked">${line}</p>`)}
    <div class="ends">${choices.map(({ words, act, go }, place) =>
      html`<button class="answer wide ${place ? '' : 'normal'}" data-act=${act} @click=${go}>${words}</button>`)}</div>
  </div>`;
}
