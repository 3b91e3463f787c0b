/** After an interruption: the same exam, structure and box, once the animal is confirmed. */
import { html } from 'lit-html';
import { ago } from './chip-words.js';
import { show } from './exam.js';
import { viewOf } from './exam-view.js';
import { keepDraft } from './in-hand.js';
import { examEntries } from './journal.js';
import { readingsOf } from './order.js';
import { state, update } from './state.js';
import { label, quantityOf } from './tables.js';
import { patientWords } from './view-exam.js';

/** @param {import('./types').Position | null} position @returns {Promise<any>} what to offer, or null */
export async function resumable(position) {
  if (!position) return null;
  const view = viewOf(await examEntries(position.exam));
  return view && !view.closed ? { position, view } : null;
}

/** @param {any} resume */
function whereWords({ position, view }) {
  const row = position.row && quantityOf(position.row) ? position.row : null;
  if (!row) return label(position.structure);
  const number = readingsOf(view, row).filter((reading) => !reading.struck).length + 1;
  return `${label(row)}, reading ${number}${position.typed ? `, "${position.typed}" typed` : ''}`;
}

/** Another animal: half-typed digits wait for their own exam. */
async function other() {
  const { position } = state.resume;
  if (position.typed) await keepDraft(`typed:${position.exam}`, position);
  await keepDraft('position', null);
  update({ screen: 'list', resume: null });
}

export function resumeView() {
  const { position, view } = state.resume;
  return html`<div class="page resume">
    <h1>${view.patient.name || 'no name'}, ${patientWords(view.patient)}</h1>
    <p class="asked">you were at ${whereWords(state.resume)}; ${ago(position.at) === 'just now' ? 'just now' : `${ago(position.at)} ago`}</p>
    <div class="ends">
      <button class="answer wide normal" data-act="go-on" @click=${() => show(position.exam, position)}>yes, same animal, go on</button>
      <button class="answer wide" data-act="other-animal" @click=${other}>other animal</button>
    </div>
  </div>`;
}
