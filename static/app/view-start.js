/** Before the first structure: species and weight are enough, even "weight unknown". Keys and chips lie under the thumb. */
import { html, nothing } from 'lit-html';
import { likely } from './candidates.js';
import { signChips, treatmentChips } from './context-choices.js';
import { chipButton, keyRow, toggled } from './controls.js';
import { datesIn, dayWords } from './dates.js';
import { patientWords } from './who.js';
import { compareChip, withChip } from './microchip.js';
import { open } from './opening.js';
import { PREPARATION, answerWords } from './preparation.js';
import { begin, change, changePatient, changeUnit, eraseWeight, pressWeight, takeRecord } from './start-form.js';
import { state, update } from './state.js';
import { catalogue } from './tables.js';
import { preparationChoices } from './view-preparation.js';
import { whoView } from './view-settings.js';
import { SOURCES, kilograms, weightEcho, weightWords } from './weight.js';

/** Months are told up to here. */
const YEARS_FROM = 24;
export const SEXES = /** @type {[string, string, boolean][]} */ ([
  ['female', 'female', false], ['female neutered', 'female', true], ['male', 'male', false], ['male neutered', 'male', true],
]);

/** @param {import('./types').Patient} patient */
function signalmentWords(patient) {
  const sex = patient.sex ? `${patient.sex}${patient.neutered ? ' neutered' : ''}` : null;
  return [patient.species, patient.breed, sex, ageWords(patient)].filter(Boolean).join(', ');
}

/** @param {import('./types').Patient} patient */
function ageWords({ age_months: months, birth_date: born }) {
  if (months === null || months === undefined) return born ? `born ${dayWords(born)}` : null;
  return months < YEARS_FROM ? `${months} months` : `${Math.floor(months / 12)} years`;
}

function plannedHead() {
  const { patient, question, visit, away, notes } = state.form;
  const told = [visit.history, visit.medication && visit.medication !== 'none' ? `Medication: ${visit.medication}` : ''].filter(Boolean).join(' ');
  return html`
    <p class="asked">${signalmentWords(patient)}</p>
    ${away ? html`<p class="notice">On the list this visit is ${away}. The exam can start all the same.</p>` : nothing}
    ${notes.map((/** @type {string} */ words) => html`<p class="small">${words}</p>`)}
    <p class="asked question">${question.text || 'no question written'}</p>
    ${told ? html`<details class="fold history"><summary>${told}</summary></details>` : nothing}`;
}

function earlierView() {
  const { earlier } = state.form;
  if (!earlier.length) return nothing;
  return html`<details class="fold" data-earlier=${earlier.length}><summary>${earlier.length === 1 ? '1 earlier exam' : `${earlier.length} earlier exams`}</summary>
    ${earlier.map((/** @type {any} */ exam) => html`<p class="small"><b>${dayWords(exam.date)}</b>, ${weightWords(exam.weight)}: ${exam.asked || 'no question written'}${exam.answered ? ` (answered: ${exam.answered})` : ''}${exam.finished ? '' : ', not finished'}</p>`)}</details>`;
}

function walkInHead() {
  const form = state.form;
  const { patient } = form;
  return html`
    <input class="text" type="text" autocomplete="off" placeholder="name (may stay empty)" aria-label="name" .value=${patient.name || ''} @input=${(/** @type {any} */ event) => changePatient({ name: event.target.value })}>
    <input class="text" type="text" autocomplete="off" placeholder="the question (may stay empty)" aria-label="the question" .value=${form.question.text} @input=${(/** @type {any} */ event) => change({ question: { ...form.question, text: event.target.value } })}>
    ${form.question.text ? askedStructures() : nothing}`;
}

/** Records of the list that it may be; a tap takes one, nothing else does. */
function candidates() {
  const { patient, chip } = state.form;
  const found = likely({ name: patient.name || '', species: patient.species, chip }, state.list?.items || []);
  if (!found.length) return nothing;
  return html`<div class="likely" data-likely=${found.length}><p class="small">On today's list: the same animal? Only a tap joins them.</p>
    ${found.map(({ item, why }) => html`<button class="visit" data-take=${item.key} @click=${() => (item.exam ? open(item) : takeRecord(item))}>
      <span class="visit-time">${item.time}</span><span class="visit-who"><b>${item.patient.name}</b> ${patientWords(item.patient)}</span>
      <span class="visit-more">${why}${item.exam ? '; its exam is begun' : ''}</span></button>`)}</div>`;
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
  return html`<details class="fold"><summary>drugs, signs (${count})</summary>
    ${treatmentChips(context, set)}${signChips(context, set)}</details>`;
}

/** Asked once, at the first exam of this phone; it stays on the screen until the exam starts. */
function askedWho() {
  state.form.asked = true;
  return whoView();
}

/** One button per thing that can be said, with what was said. */
function tabs() {
  const { tab, context, chip } = state.form;
  const one = (/** @type {string} */ name, /** @type {string} */ title, /** @type {string} */ said) => html`<button class="tab ${tab === name ? 'chosen' : ''}"
    data-tab=${name} aria-pressed=${tab === name ? 'true' : 'false'} @click=${() => change({ tab: name, problem: null })}><span>${title}</span><b>${said}</b></button>`;
  return html`<div class="tabs" role="group" aria-label="preparation, all optional">
    ${one('weight', 'weight', shownWeight())}
    ${PREPARATION.map((each) => one(each.field, each.title, answerWords(each, context[each.field])))}
    ${one('chip', 'chip', chip ? `...${chip.slice(-4)}` : '')}</div>`;
}

function shownWeight() {
  const form = state.form;
  if (form.unknown) return 'unknown';
  if (!form.touched) return form.known ? `${kilograms(form.known.weight_kg)} kg` : '';
  return form.weight ? `${form.weight} ${form.unit}` : '';
}

/** What was typed and what it means; beside it the record's weight, so that the wrong animal or a slip stands out. */
function weightLine() {
  const form = state.form;
  const typed = form.touched || !form.known;
  const shown = form.unknown ? 'unknown' : typed ? form.weight || '_' : kilograms(form.known.weight_kg);
  const echo = form.unknown || !typed ? '' : weightEcho(form.weight, form.unit);
  const record = form.record?.weight_kg ? `record: ${weightWords(form.record)}${recordDate(form.record)}` : '';
  return html`<div class="weight-line">${asksSpecies() ? species() : nothing}<output class="echo-big" data-weight=${shown}>${shown} <small>${form.unknown ? '' : typed ? form.unit : 'kg'}</small></output>
    <span class="weight-more"><span data-echo=${echo}>${echo}</span><span class="small">${record}</span></span></div>`;
}

/** @param {import('./types').Patient} record */
function recordDate(record) {
  if (record.weight_date) return `, ${dayWords(record.weight_date)}`;
  return record.weight_source ? `, ${datesIn(record.weight_source)}` : '';
}

/** @param {string} name */
function key(name) {
  return html`<button class="key" data-key=${name} @click=${() => pressWeight(name)}>${name}</button>`;
}

function startKey() {
  const { busy } = state.form;
  return html`<button class="key keep wide-key" data-act="begin" ?disabled=${busy || Boolean(state.stopped)} @click=${begin}>start the exam</button>`;
}

/** @param {unknown} second @param {unknown} third @param {unknown} point */
function keypad(second, third, point) {
  return html`<div class="keypad weight-keys" role="group" aria-label="keys">
    ${keyRow(['7', '8', '9'].map(key), html`<button class="key word" data-act="erase" @click=${eraseWeight}>erase</button>`)}
    ${keyRow(['4', '5', '6'].map(key), second)}${keyRow(['1', '2', '3'].map(key), third)}${keyRow([point, key('0')], startKey())}</div>`;
}

function weightPanel() {
  const form = state.form;
  const other = form.unit === 'kg' ? 'lb' : 'kg';
  return html`${weightLine()}
    <div class="choices four">${SOURCES.map((one) => chipButton(one, () => change({ source: one }), form.source === one && !form.unknown))}</div>
    ${keypad(
      html`<button class="key word" data-act="unit" @click=${changeUnit}>switch to<b>${other}</b></button>`,
      html`<button class="key word ${form.unknown ? 'on' : ''}" data-act="weight-unknown" aria-pressed=${form.unknown ? 'true' : 'false'} @click=${() => change({ unknown: !form.unknown, problem: null })}>weight unknown</button>`,
      key('.'),
    )}`;
}

function chipPanel() {
  const { chip, record, patient } = state.form;
  const found = chip ? compareChip(chip, record?.microchip, patient.name || 'this animal') : null;
  /** @type {import('./list-data.js').Item[]} */
  const animals = (state.list?.items || []).filter((/** @type {import('./list-data.js').Item} */ item) => item.visit && item.patientId !== state.form.patientId);
  const others = withChip(chip, animals);
  return html`<div class="weight-line"><output class="echo-big" data-chip=${chip}>${chip || '_'}</output></div>
    <p class="${found?.says === 'mismatch' ? 'problem-words' : 'small'}" role="status" data-chip-says=${found?.says || ''}>${found ? found.words : 'Chip number, if you read one: the last 4 digits or all. It may stay empty.'}</p>
    ${others.map((item) => html`<button class="notice" data-chip-of=${item.key} @click=${() => open(item)}>It is the number of ${item.patient.name}, ${item.patient.species || 'species unknown'}${item.time ? `, ${item.time}` : ''}: open that one</button>`)}
    ${keypad(html`<span></span>`, html`<span></span>`, html`<span></span>`)}`;
}

function preparationPanel() {
  const form = state.form;
  const one = PREPARATION.find((each) => each.field === form.tab) || PREPARATION[0];
  const set = (/** @type {any} */ value) => change({ context: { ...state.form.context, [one.field]: value } });
  return html`<div class="preparation">${preparationChoices(one, form.context[one.field], form.before[one.field], set)}</div>
    <div class="keypad alone">${startKey()}</div>`;
}

function asksSpecies() {
  return !state.form.record?.species;
}

function species() {
  const { patient } = state.form;
  return html`<div class="species" data-group="species">${['dog', 'cat'].map((one) => chipButton(one, () => changePatient({ species: one }), patient.species === one))}</div>`;
}

function sexes() {
  const { patient } = state.form;
  return html`<div class="choices four" data-group="sex">${SEXES.map(([words, sex, neutered]) =>
    chipButton(words, () => changePatient({ sex, neutered }), patient.sex === sex && Boolean(patient.neutered) === neutered))}</div>`;
}

export function startView() {
  const form = state.form;
  const planned = Boolean(form.visit);
  return html`<div class="page start ${planned ? 'planned' : ''}">
    <div class="bar"><h1>${planned ? form.patient.name || 'no name' : 'Walk-in animal'}</h1><button class="finish" data-act="back" @click=${() => update({ screen: 'list', form: null })}>back</button></div>
    ${planned ? plannedHead() : walkInHead()}
    <div class="folds">${planned ? earlierView() : nothing}${circumstances()}</div>
    ${state.settings.author && !form.asked ? nothing : askedWho()}
    <div class="lower">
      ${planned ? nothing : candidates()}
      ${form.record?.sex ? nothing : sexes()}
      ${tabs()}
      ${form.problem ? html`<p class="problem-words" role="alert">${form.problem}</p>` : nothing}
      ${form.tab === 'weight' ? weightPanel() : form.tab === 'chip' ? chipPanel() : preparationPanel()}
    </div>
  </div>`;
}
