/** An exam that was recorded under another animal: the move as entries, and what the screen's fold makes of it. Pure functions. */
import { indexOf, superseded } from './slots.js';

/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./types').Patient} Patient */
/** @typedef {import('./types').Moved} Moved */
/** @typedef {{id: string, patient: Patient, question?: {text?: string, structures?: string[]} | null, context?: Record<string, any> | null}} Target an animal and, where it is planned, its visit's request */

export const SLOT = 'exam.patient';
/** Facts that were measured on the animal on the table: they go with the exam, not with a record. */
const MEASURED = ['scales today', 'measured today'];
const WEIGHT = ['weight_kg', 'weight_source', 'weight_typed', 'weight_typed_unit'];
/** What a request tells of an animal; what was said at the table instead stays. */
const OF_THE_REQUEST = ['steroids', 'treatments', 'signs'];

/** Whether an entry moves its exam. @param {{kind: string, body: Record<string, any>}} entry */
export function moves(entry) {
  return entry.kind === 'set' && entry.body?.about === SLOT;
}

/** Every move, struck ones too. @param {Entry[]} entries @param {(id: string) => boolean} counts @returns {Moved[]} */
export function movesOf(entries, counts) {
  return entries.filter(moves).map(({ id, body, author, at }) => ({
    id, from: named(body.from), to: named(body.value), why: body.why || null, author, at, struck: !counts(id),
  }));
}

/** @param {any} animal */
function named(animal) {
  return { id: String(animal?.id), name: animal?.name ?? null, species: animal?.species ?? null };
}

/**
 * The move that stands, as the core reads it: one head, or heads that agree; two that differ move nothing.
 * @param {Entry[]} entries @param {(id: string) => boolean} counts
 * @returns {{animal: Record<string, any>, replaced: Set<string>} | null}
 */
export function standingMove(entries, counts) {
  const own = entries.filter((entry) => moves(entry) && counts(entry.id));
  const gone = superseded(own, indexOf(entries));
  const heads = own.filter((entry) => !gone.has(entry.id));
  if (!heads.length || new Set(heads.map((entry) => JSON.stringify(entry.body.value))).size > 1) return null;
  return { animal: heads[0].body.value, replaced: new Set(heads.flatMap((entry) => entry.after)) };
}

/**
 * What is recorded when the exam on the screen belongs to another animal: the move, and of the request what cannot
 * have been meant for the first one. One unit, so that undo takes all of it back.
 * @param {import('./types').ExamView} view @param {Entry} opened @param {Entry[]} entries @param {Target} to @param {string} why
 * @returns {import('./record.js').Act[]}
 */
export function moveActs(view, opened, entries, to, why) {
  const slots = [SLOT, ...new Set(entries.filter((entry) => entry.kind === 'set' && String(entry.body.about).startsWith('patient.')).map((entry) => String(entry.body.about)))];
  const from = { id: view.patientId, name: view.patient.name ?? null, species: view.patient.species ?? null };
  const value = given({ ...to.patient, ...measured(view.patient), id: to.id });
  const set = (/** @type {string} */ about, /** @type {any} */ held) => ({ kind: 'set', slot: about, patient: to.id, body: { about, value: held } });
  return [
    { kind: 'set', slots, patient: to.id, body: { about: SLOT, value, from, why } },
    ...requestActs(view, opened, to).map(([about, held]) => set(about, held)),
  ];
}

/** Weight from the scales, and the body condition that was felt. @param {Patient} patient */
function measured(patient) {
  const own = /** @type {Record<string, any>} */ (patient);
  const weighed = MEASURED.includes(String(patient.weight_source));
  const names = [...(weighed ? WEIGHT : []), ...(patient.body_condition ? ['body_condition'] : [])];
  // A record's pounds must not stand beside the kilograms of today.
  return Object.fromEntries(names.map((name) => [name, own[name] ?? null]));
}

/** @param {Record<string, any>} facts */
function given(facts) {
  return Object.fromEntries(Object.entries(facts).filter(([, held]) => held !== null && held !== undefined && typeof held !== 'function'));
}

/**
 * The question and the request's own facts, where the exam still holds those of the first animal's request.
 * @param {import('./types').ExamView} view @param {Entry} opened @param {Target} to @returns {[string, any][]}
 */
function requestActs(view, opened, to) {
  /** @type {[string, any][]} */
  const made = [];
  const asked = { text: to.question?.text || '', structures: to.question?.structures || [] };
  if (asked.text !== view.question.text) made.push(['question.text', asked.text]);
  if (String(asked.structures) !== String(view.question.structures)) made.push(['question.structures', asked.structures]);
  const before = opened.body.context || {};
  for (const name of OF_THE_REQUEST) {
    const held = view.context[name];
    const theirs = to.context?.[name] ?? null;
    const fromRequest = JSON.stringify(held ?? null) === JSON.stringify(before[name] ?? null);
    if (fromRequest && JSON.stringify(held ?? null) !== JSON.stringify(theirs)) made.push([`context.${name}`, theirs]);
  }
  return made;
}

/** The move and what was recorded with it in one unit: what taking it back strikes. @param {Entry[]} entries @param {string} id of the move @returns {string[]} */
export function unitOfMove(entries, id) {
  const move = entries.find((entry) => entry.id === id);
  if (!move) return [id];
  return entries
    .filter((entry) => entry.kind === 'set' && entry.device === move.device && entry.at === move.at && entry.patient === move.patient && entry.seq >= move.seq)
    .map((entry) => entry.id);
}
