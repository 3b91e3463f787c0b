/** About this animal and this visit: is it the right one, weight, circumstances that change what a value means. */
import { html, nothing } from 'lit-html';
import { setFields } from './acts.js';
import { signChips, treatmentChips } from './context-choices.js';
import { chipButton } from './controls.js';
import { datesIn, dayWords, momentWords } from './dates.js';
import { leave } from './exam.js';
import { chipWords, compareChip } from './microchip.js';
import { unitOfMove } from './moved.js';
import { NumberProblem } from './number.js';
import { PREPARATION } from './preparation.js';
import { record } from './record.js';
import { state, update } from './state.js';
import { catalogue, label } from './tables.js';
import { topView } from './view-exam.js';
import { startMove } from './view-move.js';
import { openWords } from './words.js';
import { preparationChoices } from './view-preparation.js';
import { SEXES } from './view-start.js';
import { valueWords } from './visit-words.js';
import { SOURCES, kilograms, weightEcho, weightOf, weightWords } from './weight.js';

/** @type {import('./preparation.js').Preparation[]} */
const FOR_THE_EXAM = [...PREPARATION, {
  field: 'bladder_filling', title: 'bladder', choices: [['minimal', 'minimal'], ['mild', 'mild'], ['moderate', 'moderate'], ['full', 'full']],
}];
const LONGEST_WEIGHT = 8;
const LONGEST_CHIP = 15;

function contextChoices() {
  const { context } = /** @type {import('./state.js').Session} */ (state.session).view;
  const setAll = (/** @type {[string, any][]} */ fields) => setFields(fields.map(([name, value]) => ({ about: `context.${name}`, value })));
  return html`${FOR_THE_EXAM.map((one) => preparationChoices(one, context[one.field], undefined, (value) => setAll([[one.field, value]])))}
    <h2>treatments</h2>${treatmentChips(context, setAll)}
    <h2>signs</h2>${signChips(context, setAll)}`;
}

/** What decides which structures and limits apply; unknown stays unknown until somebody says. */
function sexChoices() {
  const { sex, neutered } = /** @type {import('./state.js').Session} */ (state.session).view.patient;
  const pick = (/** @type {string} */ which, /** @type {boolean} */ cut) =>
    setFields([{ about: 'patient.sex', value: which }, { about: 'patient.neutered', value: cut }], `${which}${cut ? ', neutered' : ''}`);
  return html`<h2>sex</h2><div class="choices two" data-group="sex">${SEXES.map(([words, which, cut]) =>
    chipButton(words, () => pick(which, cut), sex === which && neutered === cut))}</div>`;
}

/** @param {any} patch */
function change(patch) {
  const empty = { weight: '', source: 'scales today', unit: state.settings.weightUnit, problem: null, chip: '' };
  update({ form: { ...empty, ...state.form, ...patch } });
}

/** Another weight is another set of the same slot: the first one stays readable. @param {string} field */
function keepWeight(field) {
  const form = state.form || {};
  const { species } = /** @type {import('./state.js').Session} */ (state.session).view.patient;
  try {
    const { value, typed, typed_unit } = weightOf(form.weight || '', form.unit || state.settings.weightUnit, catalogue().weight_plausible_kg[species || ''], species || 'animal');
    const fields = [{ about: field, value, extra: { typed, typed_unit } }];
    if (field === 'patient.weight_kg') fields.push({ about: 'patient.weight_source', value: form.source || SOURCES[0], extra: /** @type {any} */ ({}) });
    setFields(fields, `${label(field)}: ${kilograms(value)} kg`);
    update({ form: null });
  } catch (error) {
    if (!(error instanceof NumberProblem)) throw error;
    change({ problem: error.message });
  }
}

/** @param {string} kind @param {(name: string) => void} press @param {() => void} erase @param {string} shown @param {string[]} names */
function digits(kind, press, erase, shown, names) {
  return html`<div class="${kind}"><output class="size-typed">${shown}</output>
    ${names.map((name) => html`<button class="key" data-key=${name} @click=${() => press(name)}>${name}</button>`)}
    <button class="key word" @click=${erase}>erase</button></div>`;
}

function weightForm() {
  const form = { weight: '', source: SOURCES[0], unit: state.settings.weightUnit, problem: null, ...(state.form || {}) };
  const { patient } = /** @type {import('./state.js').Session} */ (state.session).view;
  const names = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '0', '.'];
  const press = (/** @type {string} */ name) => form.weight.length < LONGEST_WEIGHT && change({ weight: form.weight + name, problem: null });
  return html`<h2 data-weight-now>weight: ${weightWords(patient)}${patient.weight_source ? `, ${datesIn(patient.weight_source)}` : ''}</h2>
    ${digits('size-keys', press, () => change({ weight: form.weight.slice(0, -1) }), form.weight ? `${form.weight} ${form.unit}` : '', names)}
    <p class="small" data-echo>${weightEcho(form.weight, form.unit)}</p>
    <div class="choices two" data-group="unit">${['kg', 'lb'].map((unit) => chipButton(`typed in ${unit}`, () => change({ unit, problem: null }), form.unit === unit))}</div>
    <div class="choices four">${SOURCES.map((one) => chipButton(one, () => change({ source: one }), form.source === one))}</div>
    ${form.problem ? html`<p class="problem-words" role="alert">${form.problem}</p>` : nothing}
    <div class="choices two">${chipButton('keep as weight', () => keepWeight('patient.weight_kg'))}${chipButton('keep as ideal weight', () => keepWeight('patient.ideal_weight_kg'))}</div>`;
}

/** The number on the reader against the record; what it says is kept, and stands on top where it does not match. */
function chipForm() {
  const { view } = /** @type {import('./state.js').Session} */ (state.session);
  const typed = state.form?.chip || '';
  const found = typed ? compareChip(typed, view.patient.microchip, view.patient.name || 'this animal') : null;
  const keep = () => {
    if (!found || found.says === 'short') return;
    setFields([{ about: 'exam.chip', value: found.says, extra: { typed, record: view.patient.microchip || null } }], 'chip number');
    change({ chip: '' });
  };
  const press = (/** @type {string} */ name) => typed.length < LONGEST_CHIP && change({ chip: typed + name });
  return html`<details class="fold" ?open=${Boolean(typed)}><summary>chip number${view.fields['exam.chip'] ? `: ${chipWords(view.fields['exam.chip'])}` : ' (may stay empty)'}</summary>
    ${digits('chip-keys', press, () => change({ chip: typed.slice(0, -1) }), typed, ['1', '2', '3', '4', '5', '6', '7', '8', '9', '0'])}
    <p class="${found?.says === 'mismatch' ? 'problem-words' : 'small'}" role="status">${found ? found.words : 'The last 4 digits or all of them.'}</p>
    <button class="answer wide" data-act="keep-chip" ?disabled=${!found || found.says === 'short'} @click=${keep}>keep what the chip says</button></details>`;
}

/** Two people answered one thing without seeing each other; entries that this version cannot read. */
function openPoints() {
  const folded = state.session?.folded;
  if (!folded) return nothing;
  const forks = folded.forks || [];
  const unread = folded.unread || [];
  return html`${forks.map((/** @type {any} */ fork) => html`<p class="notice">Two answers for ${label(String(fork.slot).replace(/^seen:/, ''))}: ${fork.values.map((/** @type {any} */ one) => `${valueWords(one.value)} (${one.author})`).join(' / ')}</p>`)}
    ${unread.length ? html`<p class="notice" data-unread=${unread.length}>${unread.length === 1 ? '1 entry is' : `${unread.length} entries are`} kept but not understood by this version.</p>` : nothing}`;
}

/** Every move of this exam with both names, and the way back. */
function moves() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const takeBack = (/** @type {import('./types').Moved} */ move) => {
    update({ screen: 'exam', form: null, list: null });
    const of = unitOfMove(session.entries, move.id);
    record([{ kind: 'struck', body: { about: 'exam.patient', why: 'moved back' }, of }], `back to ${move.from.name || 'no name'}`, false);
  };
  return session.view.moved.map((move) => html`<div class="moving" data-moved=${move.struck ? 'taken-back' : 'stands'}>
    <p>${move.struck ? 'was moved, and taken back: ' : 'moved: '}from <b>${move.from.name || 'no name'}</b>, ${move.from.species || 'species unknown'}, to <b>${move.to.name || 'no name'}</b>, ${move.to.species || 'species unknown'}</p>
    <p class="small">${[move.why, move.author, momentWords(move.at)].filter(Boolean).join(', ')}</p>
    ${move.struck ? nothing : html`<button class="answer" data-act="move-back" @click=${() => takeBack(move)}>take the move back</button>`}</div>`);
}

export function animalView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  return html`<div class="page">
    ${topView()}
    <div class="bar"><h1>${session.view.patient.name || 'This animal'}</h1><button class="finish" data-act="back" @click=${() => update({ screen: 'exam', form: null })}>back</button></div>
    ${session.view.patient.breed ? html`<p class="asked">${session.view.patient.breed}</p>` : nothing}
    ${session.earlier.map((exam) => html`<p class="small">earlier exam ${dayWords(exam.date)}${exam.weight_kg ? `, ${kilograms(exam.weight_kg)} kg` : ''}</p>`)}
    ${moves()}
    ${openPoints()}
    ${session.view.notes.filter((note) => note.about === 'exam' && !note.struck).map((note) => html`<p class="asked">note: ${note.text}</p>`)}
    <button class="answer wide" data-act="note-exam" @click=${() => { update({ screen: 'exam', form: null }); openWords({ kind: 'note', about: 'exam' }); }}>write a note on the exam</button>
    <button class="answer wide" data-act="wrong-animal" @click=${startMove}>this exam belongs to another animal</button>
    ${chipForm()}
    ${contextChoices()}
    ${sexChoices()}
    ${weightForm()}
    <div class="ends"><button class="answer wide quiet" data-act="leave" @click=${leave}>leave this exam open, back to the list</button></div>
  </div>`;
}
