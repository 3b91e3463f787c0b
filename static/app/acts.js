/** What a tap means: from a control on the screen to the entries that are recorded. */
import { recordsBehind } from './answers.js';
import { fieldsOf, kept } from './circumstances.js';
import { ONE_READING, claim, neighbour, nextBox, nextOpen, usualClaim } from './order.js';
import { freeHand, go, held, heldByPanel, keepPosition, ownNumber, screenRows } from './hand.js';
import { record, undo } from './record.js';
import { NumberProblem, question, readNumber, shift, stepped } from './number.js';
import { keepsItself, withStray } from './self-keep.js';
import { say, state, updateSession } from './state.js';
import { catalogue, inputsOf, label, quantityOf, reasonWords, seenWords, structureOf } from './tables.js';

/** @typedef {import('./record.js').Act} Act */

/** A key of the own keypad or of a keyboard: digits, point, comma. @param {string} key */
export function press(key) {
  const session = state.session;
  if (!session?.row || !quantityOf(session.row) || session.typed.length >= 14) return;
  updateSession({ typed: session.typed + key, problem: null, asking: null });
  // What was pasted waits for the key.
  if (key.length === 1 && keepsItself(session)) keepReading({ itself: true });
  keepPosition();
}

export function erase() {
  const session = state.session;
  if (!session) return;
  // A number that has just kept itself is erased as if it still stood there: it is struck, and its digits come back.
  if (!session.typed && session.lastAct?.itself) {
    undo(1);
    return;
  }
  const typed = session.typed.slice(0, -1);
  // An emptied box begins anew like a chosen one: nothing in it is being mended, and nothing on it says that it waits for the key.
  updateSession({ typed, byKey: Boolean(typed) && session.byKey, problem: null, asking: null });
  keepPosition();
}

/** A step of the caliper: the digits in the box move, nothing is kept yet. @param {string} by */
export function stepBy(by) {
  const session = state.session;
  if (!session) return;
  updateSession({ typed: stepped(session.typed, by, state.settings.machineUnit), problem: null, asking: null });
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
    const asking = how.sure ? null : withStray(session, question(read, quantity, session.view.patient.species));
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

/** Keep the reading and open the next box. @param {{sure?: boolean, itself?: boolean}} [how] itself: by its last digit, not by the key */
export function keepReading(how = {}) {
  const session = state.session;
  if (!session) return;
  // The key out of habit, after a number that kept itself: nothing is left to keep.
  if (!session.typed && session.lastAct?.itself) {
    say(`kept already: ${session.lastAct.words}`);
    return;
  }
  const act = typedReading(how);
  if (!act) return;
  const { row, typed } = session;
  record([act], readingWords(act));
  if (how.itself && session.lastAct) session.lastAct.itself = { row, typed };
  updateSession({ typed: '', byKey: false, takenBack: '', asking: null, row: nextBox(screenRows(), row, session.view), how: kept(session.how) });
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
  if (held()) return;
  const list = screenRows().filter((row) => row.quantity);
  const place = list.findIndex((row) => row.id === session.row);
  const next = list[(place + 1) % list.length];
  ownNumber(session);
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

/** To the structure before or after, in the shown order. @param {number} by -1 or 1 */
export function goBy(by) {
  if (state.session) go(neighbour(catalogue(), state.session.view, state.session.structure, by), null);
}

/** @param {string} row */
export function chooseRow(row) {
  const session = state.session;
  if (!session) return;
  if (session.row !== row && held()) return;
  if (!session.typed) ownNumber(session);
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

/** One tap for what one sweep showed: each structure by its own entry, as the button says. @param {import('./types').Structure[]} structures */
export function sayTogether(structures) {
  const session = state.session;
  if (!session) return;
  const acts = structures.map((structure) => {
    const { seen, why, normal } = usualClaim(structure, session.view);
    return seenAct(structure.id, seen, why, normal);
  });
  finishStructure(structures[structures.length - 1].id, acts, togetherWords(structures, session.view));
}

/** "Urinary bladder; Urethra (proximal): each seen, normal"; each with its own claim where they differ. @param {import('./types').Structure[]} structures @param {import('./types').ExamView} view */
export function togetherWords(structures, view) {
  const claims = structures.map((structure) => ({ name: structure.label, words: usualClaim(structure, view).words }));
  if (claims.some((one) => one.words !== claims[0].words)) return claims.map((one) => `${one.name}: ${one.words}`).join('; ');
  return `${claims.map((one) => one.name).join('; ')}: each ${claims[0].words}`;
}

/** Record and go on to the next structure that nobody answered. @param {string} about @param {Act[]} acts @param {string} words */
export function finishStructure(about, acts, words) {
  const session = state.session;
  if (!session || held()) return;
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

/** @param {string} about @param {string} text @param {string[]} [of] the clip whose words these are */
export function addNote(about, text, of = []) {
  const session = state.session;
  if (!session || !text.trim()) return undefined;
  session.panel = null;
  return record([{ kind: 'noted', body: { about, text }, of }], `${of.length ? 'words of the clip' : 'note'}: ${label(about)}`);
}

/** @param {Record<string, any>} body */
export function addFinding(body) {
  const session = state.session;
  if (!session) return;
  session.panel = null;
  record([{ kind: 'found', body }], `${label(body.about)}: ${body.finding.replace(/_/g, ' ')}`);
  keepPosition();
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

/** One reading is enough, and why: the next box is the next row's. @param {string} about a quantity @param {string} reason */
export function enough(about, reason) {
  const session = state.session;
  if (!session || held()) return;
  session.panel = null;
  const of = session.view.readings.filter((one) => one.quantity === about && !one.struck).map((one) => one.id);
  record([{ kind: 'acknowledged', body: { about, flag: ONE_READING, reason }, of }], `${label(about)}: one reading, ${reasonWords(reason)}`);
  freeHand(session);
  keepPosition();
}

/** "Before you lift the probe". */
export function openSheet() {
  const session = state.session;
  if (!session || heldByPanel()) return;
  session.panel = null;
  state.screen = 'open';
  updateSession({});
}
