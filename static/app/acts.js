/** What a tap means: from a control on the screen to the entries that are recorded. */
import { recordsBehind } from './answers.js';
import { fieldsOf, kept } from './circumstances.js';
import { claim, nextBox, nextOpen } from './order.js';
import { freeHand, go, heldByDigits, keepPosition, screenRows } from './hand.js';
import { record } from './record.js';
import { NumberProblem, question, readNumber, shift } from './number.js';
import { say, state, updateSession } from './state.js';
import { catalogue, inputsOf, label, quantityOf, reasonWords, seenWords, structureOf } from './tables.js';

/** @typedef {import('./record.js').Act} Act */

/** A key of the own keypad or of a keyboard: digits, point, comma. @param {string} key */
export function press(key) {
  const session = state.session;
  if (!session?.row || !quantityOf(session.row) || session.typed.length >= 14) return;
  updateSession({ typed: session.typed + key, problem: null, asking: null });
  keepPosition();
}

export function erase() {
  const session = state.session;
  if (!session) return;
  updateSession({ typed: session.typed.slice(0, -1), problem: null, asking: null });
  keepPosition();
}

/** What the typed text says so far, or null. */
export function echo() {
  const session = state.session;
  const quantity = session?.row ? quantityOf(session.row) : null;
  if (!session || !quantity || !session.typed) return null;
  try {
    return readNumber(session.typed.replace(/[.,]$/, ''), state.settings.machineUnit, quantity.unit);
  } catch (error) {
    if (error instanceof NumberProblem) return null;
    throw error;
  }
}

/**
 * Keep the typed number as a reading of the row on the screen.
 * @param {{sure?: boolean, stay?: boolean}} [how] sure: the question about it was answered
 * @returns {Act | null} the act, already checked, or null when a question or a problem is shown
 */
export function typedReading(how = {}) {
  const session = state.session;
  const quantity = session?.row ? quantityOf(session.row) : null;
  if (!session || !quantity) return null;
  try {
    const read = readNumber(session.typed, state.settings.machineUnit, quantity.unit);
    const asking = how.sure ? null : question(read, quantity, session.view.patient.species);
    if (asking) {
      updateSession({ asking, problem: null });
      say(asking.message);
      return null;
    }
    /** @type {Record<string, any>} */
    const body = { about: quantity.id, ...read, ...fieldsOf(session.how, state.settings.machineRows) };
    if (quantity.plane && !body.plane) body.plane = quantity.plane;
    if (quantity.id.startsWith('lesion.')) body.lesion = session.lesion;
    return { kind: 'read', body };
  } catch (error) {
    if (!(error instanceof NumberProblem)) throw error;
    updateSession({ problem: error.message, asking: null });
    say(error.message);
    return null;
  }
}

/** Keep the reading and open the next box. @param {{sure?: boolean}} [how] */
export function keepReading(how = {}) {
  const session = state.session;
  if (!session) return;
  const act = typedReading(how);
  if (!act) return;
  const { row } = session;
  record([act], readingWords(act));
  updateSession({ typed: '', asking: null, row: nextBox(screenRows(), row, session.view), how: kept(session.how) });
  keepPosition();
}

/** @param {Act} act */
function readingWords(act) {
  const { about, value, unit } = act.body;
  const words = screenRows().find((row) => row.id === about)?.label || label(about);
  return `${words} ${value}${unit === '1' ? '' : ` ${unit}`}`;
}

/** The person chose another reading of the digits: it stands in the box, to be kept. @param {string} value */
export function takeOffer(value) {
  const session = state.session;
  const quantity = session?.row ? quantityOf(session.row) : null;
  if (!session || !quantity) return;
  const cm = state.settings.machineUnit === 'cm' && quantity.unit === 'mm';
  updateSession({ typed: cm ? `${shift(value, -1)}` : value, asking: null });
  keepPosition();
}

/** On to the next box, keeping nothing; typed digits are never thrown away. */
export function skipBox() {
  const session = state.session;
  if (!session) return;
  if (heldByDigits()) return;
  const list = screenRows().filter((row) => row.quantity);
  const place = list.findIndex((row) => row.id === session.row);
  const next = list[(place + 1) % list.length];
  updateSession({ row: next ? next.id : null, problem: null });
  keepPosition();
}

/** Show the other measures too; the first of them that is empty gets the keys. */
export function unfoldMeasures() {
  const session = state.session;
  if (!session) return;
  const before = new Set(screenRows().map((row) => row.id));
  session.more = !session.more;
  session.panel = null;
  const first = screenRows().find((row) => row.quantity && !before.has(row.id));
  if (first && !session.typed) session.row = first.id;
  keepPosition();
  updateSession({});
}

/** @param {string} row */
export function chooseRow(row) {
  const session = state.session;
  if (!session) return;
  if (session.row !== row && heldByDigits()) return;
  updateSession({ row, panel: null, problem: null, asking: null });
  keepPosition();
}

/** @param {string} about @param {string} seen @param {string[]} why @param {boolean} normal @returns {Act} */
export function seenAct(about, seen, why, normal) {
  return { kind: 'seen', slot: `seen:${about}`, body: { about, seen, why, normal } };
}

/** One tap: this structure was seen and is normal (or what `claim` allows). A typed number is kept first, as the button says. */
export function seenNormal() {
  const session = state.session;
  if (!session) return;
  const acts = [];
  if (session.typed) {
    const reading = typedReading();
    if (!reading) return;
    acts.push(reading);
  }
  const about = session.structure;
  const structure = structureOf(about);
  if (!structure) return;
  const said = claim(structure, session.view);
  acts.push(seenAct(about, said.seen, said.why, said.normal));
  const typed = session.typed;
  session.typed = '';
  const words = `${typed ? `${readingWords(acts[0])}; ` : ''}${label(about)}: ${said.words}`;
  finishStructure(about, acts, words);
}

/**
 * A state for the structure (moves on) or for one of its parts (stays).
 * @param {string} about @param {string} seen @param {string[]} why
 */
export function markSeen(about, seen, why) {
  const session = state.session;
  if (!session) return;
  const act = seenAct(about, seen, why, false);
  const words = `${label(about)}: ${seenWords(seen)}${why.length ? ` (${why.map(reasonWords).join(', ')})` : ''}`;
  session.panel = null;
  if (structureOf(about) && state.screen === 'exam') finishStructure(about, [act], words);
  else {
    record([act], words);
    freeHand(session);
  }
}

/** Record and go on to the next structure that nobody answered. @param {string} about @param {Act[]} acts @param {string} words */
export function finishStructure(about, acts, words) {
  const session = state.session;
  if (!session || heldByDigits()) return;
  record(acts, words);
  const next = nextOpen(catalogue(), session.view, about);
  if (next) go(next, null);
  else openSheet();
}

/**
 * Partly seen: the structure, and what the panel said of its parts, in one unit.
 * @param {string} about @param {{id: string, seen: string}[]} parts @param {string[]} why
 */
export function markPartly(about, parts, why) {
  const session = state.session;
  if (!session) return;
  const acts = [seenAct(about, 'partly', why, false)];
  for (const part of parts) acts.push(seenAct(part.id, part.seen, part.seen === 'whole' ? [] : why, false));
  session.panel = null;
  record(acts, `${label(about)}: partly seen${why.length ? ` (${why.map(reasonWords).join(', ')})` : ''}`);
  session.parts = true;
  freeHand(session);
}

/** @param {string} id @param {string} why */
export function strikeReading(id, why) {
  const session = state.session;
  const reading = session?.view.readings.find((one) => one.id === id);
  if (!session || !reading) return;
  session.panel = null;
  record([{ kind: 'struck', body: { about: reading.quantity, why }, of: [id] }], `struck: ${label(reading.quantity)} ${reading.value}`);
}

/** Take a strike of a reading back: a strike of the strike. @param {string} id the struck reading */
export function restoreReading(id) {
  const session = state.session;
  if (!session) return;
  const strikes = session.entries.filter((entry) => entry.kind === 'struck' && entry.of.includes(id));
  const reading = session.view.readings.find((one) => one.id === id);
  if (!strikes.length || !reading) return;
  session.panel = null;
  const of = strikes.map((entry) => entry.id);
  record([{ kind: 'struck', body: { about: reading.quantity, why: 'counts after all' }, of }], `counts again: ${reading.value}`);
}

/** @param {string} about @param {string} text */
export function addNote(about, text) {
  const session = state.session;
  if (!session || !text.trim()) return;
  session.panel = null;
  record([{ kind: 'noted', body: { about, text } }], `note: ${label(about)}`);
}

/** @param {Record<string, any>} body */
export function addFinding(body) {
  const session = state.session;
  if (!session) return;
  session.panel = null;
  record([{ kind: 'found', body }], `${label(body.about)}: ${body.finding.replace(/_/g, ' ')}`);
}

/** Set slots (context, descriptors, patient fields, the question's answer). @param {{about: string, value: any, extra?: any}[]} fields */
export function setFields(fields, words = '') {
  const acts = fields.map(({ about, value, extra }) => ({ kind: 'set', slot: about, body: { about, value, ...(extra || {}) } }));
  return record(acts, words || fields.map((field) => label(field.about)).join(', '));
}

/** A person's reason for letting a line stand; it names the records it speaks of. @param {import('./types').Line} line @param {string} reason */
export function acknowledge(line, reason) {
  const session = state.session;
  if (!session || !reason) return;
  session.panel = null;
  const of = recordsBehind(line, session.view, inputsOf);
  record([{ kind: 'acknowledged', body: { about: line.about, flag: line.kind || '', reason }, of }], `${label(line.about)}: ${reason}`);
}

/** "Before you lift the probe". */
export function openSheet() {
  const session = state.session;
  if (!session) return;
  session.panel = null;
  state.screen = 'open';
  updateSession({});
}
