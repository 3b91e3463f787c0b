/** Before the first structure: species and weight are enough, even "weight unknown". */
import { html, nothing } from 'lit-html';
import { openNew } from './exam.js';
import { NumberProblem, compare, split, trimZeros } from './number.js';
import { signChips, treatmentChips } from './context-choices.js';
import { chipButton, toggled } from './controls.js';
import { state, update } from './state.js';
import { catalogue } from './tables.js';
import { whoView } from './view-settings.js';

const SOURCES = ['scales today', 'record', 'owner', 'estimate'];
export const SEXES = /** @type {[string, string, boolean][]} */ ([
  ['female', 'female', false], ['female neutered', 'female', true], ['male', 'male', false], ['male neutered', 'male', true],
]);

export function emptyForm() {
  return {
    visit: null, patientId: null, patient: { name: '' }, question: { text: '', structures: [] }, context: {},
    weight: '', unknown: false, source: 'scales today', problem: null,
  };
}

/** @param {import('./list-data.js').Item} item */
export function formFromVisit(item) {
  return {
    ...emptyForm(),
    visit: item.visit,
    patientId: item.patientId,
    patient: { ...item.patient },
    question: { text: item.question.text || '', structures: item.question.structures || [] },
    context: { ...(item.visit?.body.context || {}) },
    weight: item.patient.weight_kg || '',
    source: SOURCES.includes(item.patient.weight_source) ? item.patient.weight_source : 'record',
    known: item.patient.weight_kg || null,
  };
}

/** @param {any} patch */
function change(patch) {
  update({ form: { ...state.form, ...patch } });
}

/** @param {any} patch */
function changePatient(patch) {
  change({ patient: { ...state.form.patient, ...patch }, problem: null });
}

/**
 * Weight text to kg. @param {string} text @param {string} species
 * @returns {string} decimal text
 * @throws {NumberProblem}
 */
export function weightOf(text, species) {
  const { number, unit } = split(text);
  if (unit && unit !== 'kg') throw new NumberProblem('wrong_unit', `"${unit}" is not taken here: write the weight in kg.`);
  const value = trimZeros(number);
  const window = catalogue().weight_plausible_kg[species];
  if (window && (compare(value, window.from) < 0 || compare(value, window.to) > 0)) {
    throw new NumberProblem('weight', `${value} kg for a ${species}? Believed here: ${window.from} to ${window.to} kg.`);
  }
  return value;
}

async function begin() {
  const form = state.form;
  if (!form.patient.species) {
    change({ problem: 'Dog or cat? The limits differ.' });
    return;
  }
  if (!state.settings.author) {
    change({ problem: 'Who is scanning? Choose a name or write initials above.' });
    return;
  }
  let weight = null;
  try {
    weight = form.unknown ? null : weightOf(form.weight, form.patient.species);
  } catch (error) {
    if (!(error instanceof NumberProblem)) throw error;
    const message = error.code === 'empty' ? 'Type the weight, or say that it is unknown.' : error.message;
    change({ problem: message });
    return;
  }
  const patient = { ...form.patient, name: form.patient.name?.trim() || null, weight_kg: weight, weight_source: weight ? form.source : null };
  change({ busy: true });
  const kept = await openNew({
    patientId: form.patientId, visit: form.visit ? form.visit.id : null, patient, question: form.question, context: form.context,
  });
  if (!kept) change({ busy: false, problem: state.trouble });
}

/** The first key replaces a weight from the record: it is then today's. @param {string} key */
export function pressWeight(key) {
  const form = state.form;
  const weight = (form.touched ? form.weight : '') + key;
  const source = form.touched || !form.known ? form.source : 'scales today';
  if (weight.length <= 8) change({ weight, source, touched: true, unknown: false, problem: null });
}

export function eraseWeight() {
  change({ weight: state.form.weight.slice(0, -1), touched: true, problem: null });
}

function weightKeys() {
  const form = state.form;
  const key = (/** @type {string} */ name) => html`<button class="key" data-key=${name} @click=${() => pressWeight(name)}>${name}</button>`;
  return html`<div class="keypad weight-keys" role="group" aria-label="weight keys">
    ${['7', '8', '9'].map(key)}<button class="key word" data-act="erase" @click=${eraseWeight}>erase</button>
    ${['4', '5', '6'].map(key)}<button class="key word ${form.unknown ? 'on' : ''}" data-act="weight-unknown" aria-pressed=${form.unknown ? 'true' : 'false'} @click=${() => change({ unknown: !form.unknown, problem: null })}>weight unknown</button>
    ${['1', '2', '3', '.', '0'].map(key)}
    <button class="key keep wide-key" data-act="begin" ?disabled=${form.busy || Boolean(state.stopped)} @click=${begin}>start the exam</button>
  </div>`;
}

function signalment() {
  const { patient } = state.form;
  return html`
    <div class="choices two">${['dog', 'cat'].map((one) => chipButton(one, () => changePatient({ species: one }), patient.species === one))}</div>
    <div class="choices two">${SEXES.map(([words, sex, neutered]) =>
      chipButton(words, () => changePatient({ sex, neutered }), patient.sex === sex && Boolean(patient.neutered) === neutered))}</div>`;
}

function askedStructures() {
  const form = state.form;
  const list = catalogue().structures.filter((structure) => structure.default);
  return html`<details class="fold"><summary>structures that the question names (${form.question.structures.length})</summary>
    <div class="choices three">${list.map((structure) => chipButton(structure.label, () =>
      change({ question: { ...form.question, structures: toggled(form.question.structures, structure.id) } }), form.question.structures.includes(structure.id)))}</div></details>`;
}

/** Treatments and signs: optional, folded until wanted. */
function circumstances() {
  const { context } = state.form;
  const set = (/** @type {[string, any][]} */ fields) => change({ context: { ...context, ...Object.fromEntries(fields) } });
  const count = (context.treatments || []).length + (context.signs || []).length;
  return html`<details class="fold"><summary>treatments and signs (${count})</summary>
    ${treatmentChips(context, set)}${signChips(context, set)}</details>`;
}

/** Asked once, at the first exam of this phone; it stays on the screen until the exam starts. */
function askedWho() {
  state.form.asked = true;
  return whoView();
}

export function startView() {
  const form = state.form;
  const planned = Boolean(form.visit);
  const weight = form.unknown ? 'unknown' : form.weight || '_';
  return html`<div class="page start">
    <div class="bar"><h1>${planned ? form.patient.name : 'Walk-in animal'}</h1><button class="finish" data-act="back" @click=${() => update({ screen: 'list', form: null })}>back</button></div>
    ${planned
      ? html`<p class="asked">${[form.patient.species, form.patient.breed, form.patient.sex ? `${form.patient.sex}${form.patient.neutered ? ' neutered' : ''}` : null].filter(Boolean).join(', ')}</p>
          <p class="asked">${form.question.text || 'no question written'}</p>
          ${form.visit.body.history ? html`<p class="small">${form.visit.body.history}</p>` : nothing}`
      : html`<input class="text" type="text" autocomplete="off" placeholder="name (may stay empty)" aria-label="name" .value=${form.patient.name} @input=${(/** @type {any} */ event) => changePatient({ name: event.target.value })}>
          ${signalment()}
          <input class="text" type="text" autocomplete="off" placeholder="the question (may stay empty)" aria-label="the question" .value=${form.question.text} @input=${(/** @type {any} */ event) => change({ question: { ...form.question, text: event.target.value } })}>
          ${askedStructures()}`}
    ${circumstances()}
    ${state.settings.author && !form.asked ? nothing : askedWho()}
    <div class="weight-line"><span>weight</span><output class="echo-big" data-weight=${weight}>${weight} <small>kg</small></output></div>
    <div class="choices four">${SOURCES.map((one) => chipButton(one, () => change({ source: one }), form.source === one))}</div>
    ${form.problem ? html`<p class="problem-words" role="alert">${form.problem}</p>` : nothing}
    ${weightKeys()}
  </div>`;
}
