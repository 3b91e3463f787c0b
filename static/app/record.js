/**
 * Recording: shown at once as provisional, appended in one strict transaction, then handed to the rule code.
 */
import { localTime } from './entry.js';
import { lastAct } from './exam-view.js';
import { heads } from './slots.js';
import { go, keepPosition } from './hand.js';
import { append, deviceState } from './journal.js';
import { askAbout, judgeAnew, readIfStale, refold, takeWhenAnswered, toldOthers } from './judging.js';
import { chipWords } from './microchip.js';
import { moves, unitOfMove } from './moved.js';
import { people, say, state, update, updateSession } from './state.js';
import { nudge } from './sync.js';
import { label, structureIdOf } from './tables.js';
import { refuse } from './unsaved.js';
import { valueWords } from './visit-words.js';

/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./types').Draft} Draft */
/** @typedef {{kind: string, body: Record<string, any>, of?: string[], slot?: string, slots?: string[], patient?: string | null}} Act `slots`: what it replaces; `patient`: another animal than the exam's so far */

let chain = Promise.resolve();
let provisionalCount = 0;

/**
 * Record acts as one unit. They show at once; the answer comes when they are kept (or not).
 * @param {Act[]} acts @param {string} words what was done, for the undo line
 * @param {boolean} [undoable] false for an undo itself
 * @returns {Promise<Entry[] | null>} null when the phone could not keep them
 */
export function record(acts, words, undoable = true) {
  const session = state.session;
  if (!session) return Promise.resolve(null);
  const shown = acts.map((act) => provisional(session, act));
  session.provisional.push(...shown);
  refold(session);
  const last = undoable ? { words, ids: [], structure: session.structure, first: acts[0] } : null;
  session.lastAct = last;
  session.problem = null;
  update();
  const turn = chain.then(() => keep(session, acts, shown, words, last));
  chain = turn.then(
    () => undefined,
    () => undefined,
  );
  return turn;
}

/** @param {import('./state').Session} session @param {Act} act @returns {Entry} */
function provisional(session, act) {
  provisionalCount += 1;
  const draft = draftOf(session, act);
  const own = session.entries.find((entry) => entry.kind === 'opened');
  return {
    ...draft, v: 1, device: own ? own.device : '', seq: 1e9 + provisionalCount, prev: '', body_hash: '',
    at: localTime(), id: `saving-${provisionalCount}`,
  };
}

/** @param {import('./state').Session} session @param {Act} act @returns {Draft} */
function draftOf(session, act) {
  const known = [...session.entries, ...session.provisional];
  return {
    exam: session.id,
    patient: act.patient || session.view.patientId,
    ...people(),
    kind: act.kind,
    after: (act.slots || (act.slot ? [act.slot] : [])).flatMap((slot) => heads(known, slot).map((entry) => entry.id)),
    of: act.of || [],
    body: act.body,
  };
}

/**
 * @param {import('./state').Session} session @param {Act[]} acts @param {Entry[]} shown @param {string} words
 * @param {import('./state').Session['lastAct']} last what can be undone once it is kept; another act may have followed it meanwhile
 */
async function keep(session, acts, shown, words, last) {
  const drafts = acts.map((act) => ({
    ...draftOf({ ...session, provisional: [] }, act),
  }));
  /** @type {{ids: string, answer: Promise<any>}[]} */
  const asked = [];
  let kept = null;
  try {
    // The rules look at the entry while the storage still writes it; their answer counts only once it is kept.
    kept = await append(drafts, (entries) => asked.push({ ids: idsOf(entries), answer: askAbout(session, entries) }));
  } catch (error) {
    refuse(session, error, acts, words);
  }
  session.provisional = session.provisional.filter((entry) => !shown.includes(entry));
  if (kept) session.entries.push(...kept);
  refold(session);
  if (kept && last) last.ids = kept.map((entry) => entry.id);
  if (!kept && session.lastAct === last) session.lastAct = null;
  if (kept) {
    say('saved on this phone');
    if (asked.length === 1 && asked[0].ids === idsOf(kept)) takeWhenAnswered(session, asked[0].answer, kept.length);
    else judgeAnew(session, asked);
    toldOthers(session.id);
    nudge();
  }
  if (!kept && asked.length) judgeAnew(session, asked);
  update();
  readIfStale(session);
  return kept;
}

/** @param {Entry[]} entries */
function idsOf(entries) {
  return entries.map((entry) => entry.id).join();
}

/** Resolves when nothing of the exam is on its way to the disk: it is kept, or stands as not saved. @param {import('./state').Session} session */
export async function allAnswered(session) {
  while (session.provisional.length) await chain;
}

/** Try once more what the phone could not keep. */
export async function saveAgain() {
  const session = state.session;
  if (!session?.unsaved) return;
  const { acts, what } = session.unsaved;
  session.unsaved = null;
  await record(acts, what.join('; '));
}

/** Strike what was done last; a number that kept itself stands in its box again. @param {number} [fewer] how many of its digits stay away */
export async function undo(fewer = 0) {
  const session = state.session;
  const last = session?.lastAct;
  if (!session || !last) return;
  session.lastAct = null;
  const back = digitsBack(session, last, fewer);
  const here = session.structure;
  if (!last.ids.length) await chain;
  if (!last.ids.length) {
    // The storage refused it: it stands as not saved, once.
    if (back && session.typed === back) updateSession({ typed: '' });
    return;
  }
  if (state.session !== session) return;
  const struck = session.entries.find((entry) => entry.id === last.ids[0]);
  const about = struck ? String(struck.body.about) : 'exam';
  const kept = await record([{ kind: 'struck', body: { about, why: 'undo' }, of: last.ids }], '', false);
  // Only a hand that is where it was goes along: one that moved on meanwhile would type into the wrong side.
  const still = state.session === session && state.screen === 'exam' && session.structure === here;
  if (kept && still && last.structure !== here && !session.typed) go(last.structure, null);
}

/**
 * They are there at once, whether their reading is kept already or still on its way: the hand types on behind them.
 * @param {import('./state').Session} session @param {NonNullable<import('./state').Session['lastAct']>} last @param {number} fewer
 * @returns {string} the digits that stand in the box again, if any
 */
function digitsBack(session, last, fewer) {
  if (!last.itself || session.typed || last.structure !== session.structure) return '';
  const { row, typed } = last.itself;
  const back = typed.slice(0, typed.length - fewer);
  updateSession({ row, typed: back, byKey: true, takenBack: typed });
  keepPosition();
  return back;
}

/** This phone's device id. */
export async function thisDevice() {
  return (await deviceState()).device;
}

/** Undo reaches back over an interruption: to the newest act of this phone. @param {import('./state').Session} session */
export async function offerUndo(session) {
  const act = lastAct(session.entries, await thisDevice());
  if (!act) return;
  const about = String(act.body.about);
  const structure = structureIdOf(about) || session.structure;
  const move = session.entries.find((entry) => moves(entry) && unitOfMove(session.entries, entry.id).includes(act.id));
  if (move) {
    session.lastAct = { words: `moved to ${move.body.value.name || 'no name'}`, ids: unitOfMove(session.entries, move.id), structure, first: move };
    return;
  }
  const said = about === 'exam.chip' ? `chip number ${chipWords(act.body.value)}` : `${label(about)}${act.body.value ? ` ${valueWords(act.body.value)}` : ''}`;
  session.lastAct = { words: said, ids: [act.id], structure, first: act };
}
