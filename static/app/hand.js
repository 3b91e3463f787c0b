/** Where the hand is: the structure, the row and the typed digits of the exam on the screen, remembered at every step. */
import { carried } from './circumstances.js';
import { storageWords } from './db.js';
import { localTime } from './entry.js';
import { keepDraft } from './in-hand.js';
import { LESION, nextBox, rows } from './order.js';
import { say, state, update } from './state.js';
import { catalogue, quantityOf, structureOf } from './tables.js';

/** What is not kept yet holds the hand where it is: it is shown, and what to do about it is said. @returns {boolean} whether it does */
export function held() {
  return heldByDigits() || heldByPanel();
}

function heldByDigits() {
  const session = state.session;
  if (!session?.typed) return false;
  const problem = `${session.typed} is typed but not kept: keep it or erase it first.`;
  Object.assign(session, { problem, panel: null });
  say(problem);
  update({ screen: 'exam', form: null });
  return true;
}

/** A finding that was chosen and not kept would else be taken for recorded; "back" gives it up, nothing else does. */
export function heldByPanel() {
  const session = state.session;
  const panel = session && begun(session.panel);
  if (!panel) return false;
  const held = 'This is not kept yet: keep it, or give it up by "back".';
  session.panel = { ...panel, held };
  say(held);
  update({ screen: 'exam', form: null });
  return true;
}

/** A box that was chosen begins a number of its own: nothing before it is typed on or taken back into it. @param {import('./state').Session} session */
export function ownNumber(session) {
  Object.assign(session, { byKey: false, takenBack: '' });
  if (session.lastAct) session.lastAct.itself = null;
}

/** Go to a structure (and a row). @param {string} structure @param {{row?: string | null, typed?: string, how?: Record<string, string>} | null} [place] */
export function go(structure, place) {
  const session = state.session;
  if (!session || held()) return;
  Object.assign(session, { structure, panel: null, parts: false, more: false, problem: null, asking: null, lesion: null, how: place?.how || carried(session.how) });
  ownNumber(session);
  const wanted = place?.row || null;
  if (wanted && !screenRows().some((row) => row.id === wanted)) Object.assign(session, { parts: true, more: true });
  session.row = wanted || nextBox(screenRows(), null, session.view);
  session.typed = place?.typed || '';
  state.screen = 'exam';
  keepPosition();
  update();
}

/** Rows of the structure on the screen. */
export function screenRows() {
  const session = state.session;
  const structure = session && structureOf(session.structure);
  if (!session || !structure) return [];
  const list = rows(catalogue(), structure, session.view, { parts: session.parts, more: session.more });
  return session.lesion ? [...lesionRows(session.lesion), ...list] : list;
}

/** A part that was just called not seen gives the keys away; typed digits keep their box. @param {import('./state').Session} session */
export function freeHand(session) {
  if (!session.typed) session.row = nextBox(screenRows(), session.row, session.view);
}

/** The three measures of a numbered lesion. @param {string} lesion "<structure>#<number>" @returns {import('./order.js').ScreenRow[]} */
function lesionRows(lesion) {
  const number = lesion.split('#')[1];
  return LESION.map((id) => {
    const quantity = quantityOf(id);
    const words = quantity ? quantity.label.replace('Lesion', `lesion ${number}`) : id;
    return { id, kind: 'measure', label: words, quantity, part: null };
  });
}

/** On to the next box of the structure that waits for a reading. */
export function onwards() {
  const session = state.session;
  if (!session) return;
  session.row = nextBox(screenRows(), session.row, session.view);
  keepPosition();
  update();
}

/**
 * The place is written beside the entry, not with it: digits that were kept as the phone died do not stand in their box a
 * second time, to be kept twice. @param {import('./types').Position} position @param {import('./types').ExamView} view
 */
export function keptMeanwhile(position, view) {
  const { row, typed, readings } = position;
  if (!typed || readings === undefined) return position;
  const now = view.readings.filter((one) => one.quantity === row);
  const newest = now[now.length - 1];
  return now.length > readings && newest.typed.startsWith(typed) ? { ...position, typed: '' } : position;
}

/** @type {import('./types').Position | null | undefined} */
let positionToKeep;
/** @type {Promise<void> | null} */
let keeping = null;

/** Remember where the hand is; only the newest position matters. Resolves when that is written. @param {boolean} [gone] the exam was left on purpose */
export async function keepPosition(gone = false) {
  const session = state.session;
  if (!session) return;
  positionToKeep = gone
    ? null
    : { exam: session.id, structure: session.structure, row: session.row, typed: session.typed, how: session.how, panel: begun(session.panel), at: localTime(),
      readings: session.view.readings.filter((one) => one.quantity === session.row).length };
  if (!keeping) keeping = writePositions();
  await keeping;
}

/** What is being put together tap by tap comes back after a kill; what opens by one tap does not. @param {any} panel */
function begun(panel) {
  return (panel?.kind === 'finding' && panel.finding) || (panel?.kind === 'procedure' && panel.procedure) || (panel?.kind === 'describe' && Object.keys(panel.chosen).length) ? panel : null;
}

async function writePositions() {
  try {
    while (positionToKeep !== undefined) {
      const next = positionToKeep;
      positionToKeep = undefined;
      await keepDraft('position', next);
    }
  } catch (error) {
    update({ trouble: storageWords(error) });
  } finally {
    keeping = null;
  }
}
