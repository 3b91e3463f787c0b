/** Which animal is in hand, in one line. It stands on top of every screen while an exam is open. */
import { html, nothing } from 'lit-html';
import { state } from './state.js';
import { weightWords } from './weight.js';

/** "dog, 34.2 kg, male": what tells two animals apart comes first. @param {import('./types').Patient} patient */
export function patientWords(patient) {
  const kind = patient.species || 'species unknown';
  const sex = patient.sex ? `, ${patient.sex}${patient.neutered ? ' neutered' : ''}` : '';
  return `${kind}, ${weightWords(patient)}${sex}`;
}

/** For screens that are not of the exam but can be opened from it. */
export function inHand() {
  const patient = state.session?.view.patient;
  return patient ? html`<p class="in-hand" data-in-hand><b>${patient.name || 'no name'}</b> ${patientWords(patient)}</p>` : nothing;
}
