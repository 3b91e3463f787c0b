/** What the start page holds before the exam begins: nothing is recorded until "start the exam". */
import { askedBefore, earlierExams } from './before.js';
import { openNew } from './exam.js';
import { compareChip } from './microchip.js';
import { NumberProblem } from './number.js';
import { saveSettings } from './settings.js';
import { state, update } from './state.js';
import { catalogue } from './tables.js';
import { SOURCES, weightOf } from './weight.js';

/** @typedef {import('./list-data.js').Item} Item */

const LONGEST_WEIGHT = 8;
/** A whole transponder number (ISO 11784); fewer digits are the end of one. */
const LONGEST_CHIP = 15;
const WEIGHT = ['weight_kg', 'weight_source', 'weight_typed', 'weight_typed_unit', 'weight_date'];

/** `known`: the record's weight, until a key is pressed; `before`: last answers, offered and not taken. */
export function emptyForm() {
  const form = {
    visit: null, patientId: null, record: null, patient: { name: '' }, question: { text: '', structures: [] }, context: {}, away: '', notes: [],
    weight: '', unit: state.settings.weightUnit, unknown: false, source: 'scales today', known: null, touched: false, tab: 'weight', chip: '',
    before: {}, earlier: [], problem: null,
  };
  lookBack(null);
  return form;
}

/** @param {Item} item */
export function formFromVisit(item) {
  const { visit, record } = item;
  const known = record.weight_kg ? Object.fromEntries(WEIGHT.filter((name) => record[name]).map((name) => [name, record[name]])) : null;
  const form = {
    ...emptyForm(),
    visit,
    patientId: item.patientId,
    record,
    patient: { ...record },
    question: { text: item.question.text || '', structures: item.question.structures || [] },
    context: { ...(visit?.context || {}) },
    away: item.away,
    notes: [item.changed, ...item.forks].filter(Boolean),
    source: SOURCES.includes(record.weight_source) ? record.weight_source : known ? 'record' : 'scales today',
    known,
  };
  lookBack(item.patientId);
  return form;
}

/** Last answers and earlier exams come a moment later; they never change what was said. @param {string | null} patientId */
async function lookBack(patientId) {
  const day = state.list?.day || null;
  const [before, earlier] = await Promise.all([askedBefore(day, patientId), patientId ? earlierExams(day, patientId) : Promise.resolve([])]);
  if (state.screen === 'start' && state.form && state.form.patientId === patientId) update({ form: { ...state.form, before, earlier } });
}

/** @param {any} patch */
export function change(patch) {
  update({ form: { ...state.form, ...patch } });
}

/** @param {any} patch */
export function changePatient(patch) {
  change({ patient: { ...state.form.patient, ...patch }, problem: null });
}

/** The walk-in is an animal of the list after all: what was typed stays. @param {Item} item */
export function takeRecord(item) {
  const { weight, unit, unknown, source, touched, context, chip, tab } = state.form;
  const form = formFromVisit(item);
  const typed = touched || unknown ? { weight, unit, unknown, source, touched } : {};
  update({ form: { ...form, ...typed, context: { ...form.context, ...context }, chip, tab } });
}

/** The first key replaces a weight from the record: it is then today's. @param {string} key */
export function pressWeight(key) {
  const form = state.form;
  if (form.tab === 'chip') {
    pressChip(key);
    return;
  }
  const weight = (form.touched ? form.weight : '') + key;
  const source = form.touched || !form.known ? form.source : 'scales today';
  if (weight.length <= LONGEST_WEIGHT) change({ weight, source, touched: true, unknown: false, tab: 'weight', problem: null });
}

export function eraseWeight() {
  const form = state.form;
  if (form.tab === 'chip') change({ chip: form.chip.slice(0, -1), problem: null });
  else change({ weight: form.touched ? form.weight.slice(0, -1) : '', touched: true, problem: null });
}

/** @param {string} key */
function pressChip(key) {
  const chip = state.form.chip + key;
  if (/^[0-9]+$/.test(chip) && chip.length <= LONGEST_CHIP) change({ chip, problem: null });
}

/** kg or lb, kept for the next animal too; the digits stay and are read anew. */
export function changeUnit() {
  const unit = state.form.unit === 'kg' ? 'lb' : 'kg';
  saveSettings({ weightUnit: unit });
  change({ unit, problem: null });
}

/** The weight to keep. @param {any} form @returns {Record<string, any>} @throws {NumberProblem} */
function weightFacts(form) {
  const none = Object.fromEntries(WEIGHT.map((name) => [name, null]));
  if (form.unknown) return none;
  if (!form.touched && form.known) return { ...none, ...form.known, weight_source: form.source };
  const { species } = form.patient;
  const { value, typed, typed_unit } = weightOf(form.weight, form.unit, catalogue().weight_plausible_kg[species], species);
  return { ...none, weight_kg: value, weight_source: form.source, weight_typed: typed, weight_typed_unit: typed_unit };
}

/** Why the exam cannot start yet, or the weight. @param {any} form @returns {{problem: string} | {facts: Record<string, any>}} */
function ready(form) {
  if (!form.patient.species) return { problem: 'Dog or cat? The limits differ.' };
  if (!state.settings.author) return { problem: 'Who is scanning? Choose a name or write initials above.' };
  try {
    return { facts: weightFacts(form) };
  } catch (error) {
    if (!(error instanceof NumberProblem)) throw error;
    return { problem: error.code === 'empty' ? 'Type the weight, or say that it is unknown.' : error.message };
  }
}

export async function begin() {
  const form = state.form;
  const answer = ready(form);
  if ('problem' in answer) {
    change({ problem: answer.problem });
    return;
  }
  change({ busy: true });
  const whole = !form.patient.microchip && form.chip.length === LONGEST_CHIP ? { microchip: form.chip } : {};
  const patient = { ...form.patient, name: form.patient.name?.trim() || null, ...answer.facts, ...whole };
  const kept = await openNew({
    patientId: form.patientId, visit: form.visit ? form.visit.id : null, patient: stated(patient), question: form.question, context: form.context,
    chip: chipFound(form),
  });
  if (!kept) change({ busy: false, problem: state.trouble });
}

/** Nothing that nobody said; a missing weight is said. @param {Record<string, any>} patient */
function stated(patient) {
  const always = ['name', 'weight_kg', 'weight_source'];
  return Object.fromEntries(Object.entries(patient).filter(([name, held]) => always.includes(name) || (held !== null && held !== undefined)));
}

/** What the chip said, for the record of the exam; null where it was not read. @param {any} form */
export function chipFound(form) {
  if (!form.chip) return null;
  const { says } = compareChip(form.chip, form.record?.microchip, form.patient.name || 'this animal');
  return says === 'short' ? null : { value: says, typed: form.chip, record: form.record?.microchip || null };
}
