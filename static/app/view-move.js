/** "This exam belongs to another animal": the animal is chosen, what goes along is said, then it is one entry with both names. */
import { html, nothing } from 'lit-html';
import { uuid7 } from './entry.js';
import { loadList, sameAnimal } from './list-data.js';
import { moveActs } from './moved.js';
import { record } from './record.js';
import { chipButton } from './controls.js';
import { state, update } from './state.js';
import { patientWords } from './who.js';
import { topView } from './view-exam.js';
import { weightWords } from './weight.js';

/** @typedef {import('./moved.js').Target} Target */

const WHY = ['opened the wrong animal', 'animals were swapped', 'list was wrong', 'other'];

/** Open the choice; the list is read as it is now. */
export async function startMove() {
  const list = await loadList(() => undefined);
  update({ screen: 'move', list, form: { to: null, why: WHY[0], name: '', species: null } });
}

function back() {
  update({ screen: 'animal', form: null });
}

/** @param {any} patch */
function change(patch) {
  update({ form: { ...state.form, ...patch } });
}

/** Animals of the list under other records than this exam's. @returns {import('./list-data.js').Item[]} */
function others() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const items = /** @type {import('./list-data.js').Item[]} */ (state.list?.items || []);
  const found = items.filter((item) => item.exam !== session.id && !sameAnimal(state.list, item.patientId, session.view.patientId));
  return found.filter((item, place) => found.findIndex((one) => one.patientId === item.patientId) === place);
}

/** @param {import('./list-data.js').Item} item @returns {Target} */
function targetOf(item) {
  const { visit, record: facts } = item;
  return { id: item.patientId, patient: facts, question: visit?.question || item.question, context: visit?.context || null };
}

/** An animal that is on no list: a record of its own, with what is known. @param {any} form @returns {Target} */
function unlisted(form) {
  return { id: uuid7(), patient: { name: form.name.trim() || null, species: form.species }, question: null, context: null };
}

async function move() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const { to, why } = state.form;
  const opened = session.entries.find((entry) => entry.kind === 'opened');
  if (!opened) return;
  const from = session.view.patient.name || 'no name';
  update({ screen: 'exam', form: null, list: null });
  await record(moveActs(session.view, opened, session.entries, to, why), `moved from ${from} to ${to.patient.name || 'no name'}`);
}

function choiceView() {
  const form = state.form;
  return html`
    <p class="asked">Which animal was really on the table? All that was recorded goes along; nothing is lost, and it can be taken back.</p>
    <div class="visits">${others().map((item) => html`<button class="visit" data-move-to=${item.key} @click=${() => change({ to: targetOf(item) })}>
      <span class="visit-time">${item.time}</span><span class="visit-who"><b>${item.record.name || 'no name'}</b> ${patientWords(item.record)}</span>
      <span class="visit-more">${item.exam ? 'has an exam of its own today' : item.question.text || ''}</span></button>`)}</div>
    <h2>an animal that is not on the list</h2>
    <input class="text" type="text" autocomplete="off" placeholder="name (may stay empty)" aria-label="name of the other animal" .value=${form.name} @input=${(/** @type {any} */ event) => change({ name: event.target.value })}>
    <div class="choices two">${['dog', 'cat'].map((one) => chipButton(one, () => change({ species: one }), form.species === one))}</div>
    <button class="answer wide" data-act="move-unlisted" ?disabled=${!form.species} @click=${() => change({ to: unlisted(form) })}>take this one</button>`;
}

/** What the move does, before it is done. @param {Target} to */
function confirmView(to) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const opened = session.entries.find((entry) => entry.kind === 'opened');
  if (!opened) return nothing;
  const { patient } = session.view;
  const acts = moveActs(session.view, opened, session.entries, to, state.form.why);
  const after = acts[0].body.value;
  const asked = acts.find((act) => act.body.about === 'question.text');
  return html`
    <div class="moving"><p><small>from</small><b>${patient.name || 'no name'}</b> ${patientWords(patient)}</p>
      <p><small>to</small><b>${after.name || 'no name'}</b> ${patientWords(after)}</p></div>
    <p class="asked">Weight afterwards: ${weightWords(after)}${after.weight_source ? `, ${after.weight_source}` : ''}.</p>
    ${asked ? html`<p class="asked">The question becomes: ${asked.body.value || 'none'}</p>` : nothing}
    ${after.species !== patient.species ? html`<p class="notice">Another species: values are compared with the limits of a ${after.species || 'species that is not known'} from then on.</p>` : nothing}
    <h2>because</h2>
    <div class="choices two" data-group="why">${WHY.map((why) => chipButton(why, () => change({ why }), state.form.why === why))}</div>`;
}

export function moveView() {
  const { to } = state.form;
  return html`<div class="page">
    ${topView()}
    <div class="bar"><h1>This exam belongs to another animal</h1><button class="finish" data-act="back" @click=${to ? () => change({ to: null }) : back}>back</button></div>
    ${to ? confirmView(to) : choiceView()}
    <div class="ends">${to ? html`<button class="answer wide normal" data-act="move" @click=${move}>move the exam to ${to.patient.name || 'this animal'}</button>` : nothing}
      <button class="answer wide quiet" data-act="stay" @click=${back}>leave it with ${state.session?.view.patient.name || 'this animal'}</button></div>
  </div>`;
}
