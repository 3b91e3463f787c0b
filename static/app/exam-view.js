/**
 * What was recorded, for the screen: a small fold that needs no engine, so that a tap shows at once.
 * It judges nothing; flags, open items and derived values come from the rule code alone.
 */

import { SLOT as MOVE, movesOf, standingMove } from './moved.js';
import { effectiveness, indexOf, slotOf, superseded } from './slots.js';

/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./types').ExamView} ExamView */

const CIRCUMSTANCES = ['plane', 'view', 'cut', 'acquired', 'recumbency', 'window', 'distance', 'depth_mm', 'rows', 'image'];

/** Order for showing: by device and its count; the device of the opening entry first. @param {Entry[]} entries */
export function inOrder(entries) {
  return [...entries].sort((a, b) => (a.device === b.device ? a.seq - b.seq : a.at < b.at ? -1 : a.at > b.at ? 1 : 0));
}

/** @param {Entry[]} all entries of one exam @returns {ExamView | null} null without an opening entry */
export function viewOf(all) {
  const entries = inOrder(all);
  const opened = entries.find((entry) => entry.kind === 'opened');
  if (!opened) return null;
  const counts = effectiveness(entries);
  const view = emptyView(opened, entries.length);
  for (const entry of entries) take(view, entry, counts(entry.id));
  const replaced = move(view, entries, counts);
  takeSlots(view, entries, counts, replaced);
  return view;
}

/** The right animal stands in place of the one that the exam was opened for. @returns {Set<string>} entries that the move stands for
 * @param {ExamView} view @param {Entry[]} entries @param {(id: string) => boolean} counts */
function move(view, entries, counts) {
  view.moved = movesOf(entries, counts);
  const standing = standingMove(entries, counts);
  if (!standing) return new Set();
  const { id, ...facts } = standing.animal;
  view.patientId = String(id);
  view.patient = facts;
  return standing.replaced;
}

/** @param {Entry} opened @param {number} count @returns {ExamView} */
function emptyView(opened, count) {
  const { body } = opened;
  const question = body.question || {};
  return {
    id: String(opened.exam),
    patientId: String(opened.patient),
    visit: body.visit || null,
    training: body.purpose === 'training',
    date: body.date,
    openedAt: opened.at,
    closed: false,
    signed: false,
    patient: { ...(body.patient || {}) },
    question: { text: question.text || '', structures: question.structures || [], answered: null },
    context: { ...(body.context || {}) },
    readings: [],
    states: {},
    findings: [],
    notes: [],
    asked: [],
    attachments: [],
    procedures: [],
    moved: [],
    fields: {},
    acknowledged: [],
    count,
  };
}

/** Additive entries. @param {ExamView} view @param {Entry} entry @param {boolean} counts */
function take(view, entry, counts) {
  const { id, body, at } = entry;
  if (entry.kind === 'read') view.readings.push(readingOf(entry, !counts));
  if (entry.kind === 'found') view.findings.push({ .../** @type {any} */ (body), id, structure: body.about, struck: !counts });
  if (entry.kind === 'attached') view.attachments.push({ .../** @type {any} */ (body), id, struck: !counts, at });
  if (entry.kind === 'noted' && !body.asks && !body.answers) view.notes.push({ id, about: body.about, text: body.text, of: entry.of || [], struck: !counts, at });
  if (entry.kind === 'noted' && counts && (body.asks || body.answers)) takeAsked(view, entry);
  if (!counts) return;
  if (entry.kind === 'procedure') takeProcedure(view, entry);
  if (entry.kind === 'closed') view.closed = true;
  if (entry.kind === 'signed') view.signed = true;
  if (entry.kind === 'acknowledged') view.acknowledged.push({ id, about: body.about, flag: body.flag, reason: body.reason, of: entry.of });
}

/** A procedure, or what was seen after one. @param {ExamView} view @param {Entry} entry */
function takeProcedure(view, { id, body, of }) {
  if (body.watched === undefined) view.procedures.push({ .../** @type {any} */ (body), id, watched: [] });
  for (const one of view.procedures) if (body.watched !== undefined && of.includes(one.id)) one.watched.push(String(body.watched));
}

/** The desk's questions, and the answers, whichever came first. @param {ExamView} view @param {Entry} entry */
function takeAsked(view, { id, body, at, author }) {
  const question = body.asks ? id : String(body.answers);
  const known = view.asked.find((one) => one.id === question) || { id: question, about: 'exam', text: '', author: '', at: '', answers: [], open: false };
  if (!view.asked.includes(known)) view.asked.push(known);
  if (body.asks) Object.assign(known, { about: body.about, text: body.text, author, at });
  else known.answers.push({ text: body.text, author, at });
  known.open = Boolean(known.text) && !known.answers.length;
}

/** @param {Entry} entry @param {boolean} struck @returns {import('./types').Reading} */
function readingOf({ id, body, at }, struck) {
  return {
    id,
    quantity: body.about,
    value: body.value,
    unit: body.unit,
    typed: body.typed ?? body.value,
    typed_unit: body.typed_unit ?? body.unit,
    how: howOf(body),
    lesion: body.lesion ?? null,
    struck,
    at,
  };
}

/** The circumstances that a reading carries. @param {Record<string, any>} body @returns {Record<string, string>} */
function howOf(body) {
  return Object.fromEntries(CIRCUMSTANCES.filter((key) => body[key]).map((key) => [key, String(body[key])]));
}

/**
 * Slots: the last head is shown; the engine reports a fork.
 * @param {ExamView} view @param {Entry[]} entries @param {(id: string) => boolean} counts @param {Set<string>} replaced heads that a move stands for
 */
function takeSlots(view, entries, counts, replaced) {
  /** @type {Map<string, Entry[]>} */
  const slots = new Map();
  for (const entry of entries) {
    const slot = slotOf(entry);
    if (slot && counts(entry.id)) slots.set(slot, [...(slots.get(slot) || []), entry]);
  }
  const byId = indexOf(entries);
  for (const own of slots.values()) {
    const gone = superseded(own, byId);
    for (const entry of own) if (!gone.has(entry.id) && !replaced.has(entry.id)) apply(view, entry);
  }
}

/** @param {ExamView} view @param {Entry} entry */
function apply(view, entry) {
  const { id, at, body } = entry;
  if (entry.kind === 'seen') {
    view.states[body.about] = { id, about: body.about, seen: body.seen, why: body.why || [], normal: body.normal === true, at };
    return;
  }
  const [group, ...rest] = String(body.about).split('.');
  const name = rest.join('.');
  if (body.about === MOVE) return;
  if (name === 'weight_kg' && group === 'patient') takeWeight(view, body);
  if (group === 'patient') /** @type {any} */ (view.patient)[name] = body.value;
  else if (group === 'context') view.context[name] = body.value;
  else if (group === 'question') /** @type {any} */ (view.question)[name] = body.value;
  else view.fields[body.about] = body.value;
}

/** What was typed goes with a weight; its source where one was written along. @param {ExamView} view @param {Record<string, any>} body */
function takeWeight(view, body) {
  view.patient.weight_typed = body.typed ?? null;
  view.patient.weight_typed_unit = body.typed_unit ?? null;
}

/** The newest own act that undo takes back: an effective entry that is neither opening nor a taken-back strike. */
/** @param {Entry[]} entries @param {string} device @returns {Entry | null} */
export function lastAct(entries, device) {
  const counts = effectiveness(entries);
  const acts = entries.filter((entry) => entry.device === device && entry.kind !== 'opened' && counts(entry.id));
  const open = acts.filter((entry) => !(entry.kind === 'struck' && entry.body.why === 'undo'));
  return open.sort((a, b) => b.seq - a.seq)[0] || null;
}
