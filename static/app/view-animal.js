/** About this animal and this visit: weight, circumstances that change what a value means, who writes. */
import { html, nothing } from 'lit-html';
import { setFields } from './acts.js';
import { leave } from './exam.js';
import { NumberProblem } from './number.js';
import { signChips, treatmentChips } from './context-choices.js';
import { chipButton, toggled } from './controls.js';
import { state, update } from './state.js';
import { label } from './tables.js';
import { topView } from './view-exam.js';
import { SEXES, weightOf } from './view-start.js';

const SEDATION = ['none', 'acepromazine', 'alfaxalone', 'butorphanol', 'dexmedetomidine', 'gabapentin', 'propofol', 'other'];
const LISTS = /** @type {[string, string, [string, any][]][]} */ ([
  ['context.fluids', 'fluids into the vein', [['none', 'none'], ['running', 'running'], ['unknown', 'unknown']]],
  ['context.bladder_filling', 'bladder', [['minimal', 'minimal'], ['mild', 'mild'], ['moderate', 'moderate'], ['full', 'full']]],
  ['context.fasted', 'fasted', [['yes', true], ['no', false]]],
  ['context.steroids', 'steroid in the last year', [['yes', 'yes'], ['no', 'no'], ['unknown', 'unknown']]],
  ['context.recumbency', 'lying', [['dorsal', 'dorsal'], ['left lateral', 'left lateral'], ['right lateral', 'right lateral'], ['standing', 'standing']]],
]);
/** @param {string} field @param {any} value */
function set(field, value) {
  setFields([{ about: field, value }]);
}

function contextChoices() {
  const { context } = /** @type {import('./state.js').Session} */ (state.session).view;
  const sedation = context.sedation || [];
  const setAll = (/** @type {[string, any][]} */ fields) => setFields(fields.map(([name, value]) => ({ about: `context.${name}`, value })));
  const pick = (/** @type {string} */ one) => set('context.sedation', one === 'none' ? [] : toggled(sedation, one));
  return html`<h2>sedation</h2><div class="choices">${SEDATION.map((one) =>
      chipButton(one, () => pick(one), one === 'none' ? context.sedation !== undefined && !sedation.length : sedation.includes(one)))}</div>
    ${LISTS.map(([field, title, values]) => html`<h2>${title}</h2><div class="choices">${values.map(([words, value]) =>
      chipButton(words, () => set(field, value), context[field.slice('context.'.length)] === value))}</div>`)}
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

/** Another weight is another set of the same slot: the first one stays readable. */
function weightForm() {
  const form = state.form || { weight: '', source: 'scales today', problem: null };
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const change = (/** @type {any} */ patch) => update({ form: { ...form, ...patch } });
  const keep = (/** @type {string} */ field) => {
    try {
      const value = weightOf(form.weight, session.view.patient.species || '');
      const fields = [{ about: field, value, extra: { typed: form.weight, typed_unit: 'kg' } }];
      if (field === 'patient.weight_kg') fields.push({ about: 'patient.weight_source', value: form.source, extra: /** @type {any} */ ({}) });
      setFields(fields, `${label(field)}: ${value} kg`);
      update({ form: null });
    } catch (error) {
      if (!(error instanceof NumberProblem)) throw error;
      change({ problem: error.message });
    }
  };
  return html`<h2>weight: ${session.view.patient.weight_kg || 'unknown'} kg${session.view.patient.weight_source ? `, ${session.view.patient.weight_source}` : ''}</h2>
    <div class="size-keys"><output class="size-typed">${form.weight}</output>
      ${['1', '2', '3', '4', '5', '6', '7', '8', '9', '0', '.'].map((key) => html`<button class="key" data-key=${key} @click=${() => change({ weight: form.weight + key, problem: null })}>${key}</button>`)}
      <button class="key word" @click=${() => change({ weight: form.weight.slice(0, -1) })}>erase</button></div>
    <div class="choices four">${['scales today', 'record', 'owner', 'estimate'].map((one) => chipButton(one, () => change({ source: one }), form.source === one))}</div>
    ${form.problem ? html`<p class="problem-words" role="alert">${form.problem}</p>` : nothing}
    <div class="choices two">${chipButton('keep as weight', () => keep('patient.weight_kg'))}${chipButton('keep as ideal weight', () => keep('patient.ideal_weight_kg'))}</div>`;
}

/** Two people answered one thing without seeing each other; entries that this version cannot read. */
function openPoints() {
  const folded = state.session?.folded;
  if (!folded) return nothing;
  const forks = folded.forks || [];
  const unread = folded.unread || [];
  return html`${forks.map((/** @type {any} */ fork) => html`<p class="notice">Two answers for ${label(String(fork.slot).replace(/^seen:/, ''))}: ${fork.values.map((/** @type {any} */ one) => `${Array.isArray(one.value) ? one.value.join(', ') : typeof one.value === 'object' ? JSON.stringify(one.value) : one.value} (${one.author})`).join(' / ')}</p>`)}
    ${unread.length ? html`<p class="notice">${unread.length} entries are kept but not understood by this version.</p>` : nothing}`;
}

export function animalView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  return html`<div class="page">
    ${topView()}
    <div class="bar"><h1>${session.view.patient.name || 'This animal'}</h1><button class="finish" data-act="back" @click=${() => update({ screen: 'exam', form: null })}>back</button></div>
    ${session.view.patient.breed ? html`<p class="asked">${session.view.patient.breed}</p>` : nothing}
    ${session.earlier.map((exam) => html`<p class="small">earlier exam ${exam.date}${exam.weight_kg ? `, ${exam.weight_kg} kg` : ''}</p>`)}
    ${openPoints()}
    ${session.view.notes.filter((note) => note.about === 'exam' && !note.struck).map((note) => html`<p class="asked">note: ${note.text}</p>`)}
    <button class="answer wide" data-act="note-exam" @click=${() => { session.panel = { kind: 'note', about: 'exam' }; update({ screen: 'exam', form: null }); }}>write a note on the exam</button>
    ${contextChoices()}
    ${sexChoices()}
    ${weightForm()}
    <div class="ends"><button class="answer wide quiet" data-act="leave" @click=${leave}>leave this exam open, back to the list</button></div>
  </div>`;
}
