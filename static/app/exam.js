/**
 * The exam on the screen: opening, recording, judging. Every act goes through `record`: shown at once as
 * provisional, appended in one strict transaction, then handed to the rule code.
 */
import { carried } from './circumstances.js';
import { getDraft, setDraft, storageWords } from './db.js';
import { ask, restartEngine } from './engine.js';
import { localDate, localTime, uuid7 } from './entry.js';
import { heads, lastAct, viewOf } from './exam-view.js';
import { append, deviceState, examEntries, patientEntries } from './journal.js';
import { LESION, nextBox, nextOpen, rows } from './order.js';
import { people, say, state, update } from './state.js';
import { nudge } from './sync.js';
import { catalogue, label, quantityOf, structureIdOf, structureOf } from './tables.js';

/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./types').Draft} Draft */
/** @typedef {{kind: string, body: Record<string, any>, of?: string[], slot?: string}} Act */

let chain = Promise.resolve();
let provisionalCount = 0;

/**
 * Write the opening entry and show the exam.
 * @param {{patientId: string | null, visit: string | null, patient: any, question: any, context: any}} animal
 * @returns {Promise<boolean>} false when it could not be saved
 */
export async function openNew(animal) {
  const exam = uuid7();
  const patient = animal.patientId || uuid7();
  const body = {
    about: 'exam',
    date: localDate(),
    visit: animal.visit,
    patient: animal.patient,
    question: animal.question,
    context: animal.context,
  };
  try {
    await append([{ exam, patient, ...people(), kind: 'opened', after: [], of: [], body }]);
  } catch (error) {
    update({ trouble: storageWords(error) });
    return false;
  }
  nudge();
  await show(exam, null);
  return true;
}

/** Show an exam that is on this phone. @param {string} exam @param {import('./types').Position | null} position */
export async function show(exam, position) {
  const entries = await examEntries(exam);
  const view = viewOf(entries);
  if (!view) {
    update({ trouble: 'The opening of this exam is not on this phone yet.' });
    return;
  }
  const list = catalogue().structures;
  const left = position ? null : await leftDigits(exam);
  const first = (position || left)?.structure || nextOpen(catalogue(), view, list[list.length - 1].id) || list[0].id;
  state.session = {
    id: exam, entries, provisional: [], stale: false, view, judgement: null, judged: 0, earlier: [], folded: null,
    structure: first, row: null, typed: '', panel: null, parts: false, more: false, problem: null,
    asking: null, lastAct: null, lesion: null, how: {}, unsaved: null,
    learned: state.practice?.learned || {},
  };
  go(first, position || left);
  await offerUndo(state.session);
  update({ screen: 'exam', trouble: null, resume: null });
  await judgeAll();
}

/** Digits that were typed when another animal was chosen after an interruption: they come back with their exam, once. @param {string} exam */
async function leftDigits(exam) {
  const left = await getDraft(`typed:${exam}`);
  if (left) await setDraft(`typed:${exam}`, null);
  return left || null;
}

/** Undo reaches back over an interruption: to the newest act of this phone. @param {import('./state').Session} session */
async function offerUndo(session) {
  const act = lastAct(session.entries, await thisDevice());
  if (!act) return;
  const about = String(act.body.about);
  const words = `${label(about)}${act.body.value ? ` ${act.body.value}` : ''}`;
  session.lastAct = { words, ids: [act.id], structure: structureIdOf(about) || session.structure, first: act };
}

/** Typed digits hold the hand where it is: the box is shown, and what to do about them is said. @returns {boolean} whether they do */
export function heldByDigits() {
  const session = state.session;
  if (!session?.typed) return false;
  const problem = `${session.typed} is typed but not kept: keep it or erase it first.`;
  Object.assign(session, { problem, panel: null });
  say(problem);
  update({ screen: 'exam', form: null });
  return true;
}

/** Go to a structure (and a row). @param {string} structure @param {{row?: string | null, typed?: string, how?: Record<string, string>} | null} [place] */
export function go(structure, place) {
  const session = state.session;
  if (!session || heldByDigits()) return;
  Object.assign(session, { structure, panel: null, parts: false, more: false, problem: null, asking: null, lesion: null, how: place?.how || carried(session.how) });
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

/** @type {import('./types').Position | null | undefined} */
let positionToKeep;
let keeping = false;

/** Remember where the hand is; only the newest position matters. @param {boolean} [gone] the exam was left on purpose */
export async function keepPosition(gone = false) {
  const session = state.session;
  if (!session) return;
  positionToKeep = gone
    ? null
    : { exam: session.id, structure: session.structure, row: session.row, typed: session.typed, how: session.how, at: localTime() };
  if (keeping) return;
  keeping = true;
  try {
    while (positionToKeep !== undefined) {
      const next = positionToKeep;
      positionToKeep = undefined;
      await setDraft('position', next);
    }
  } catch (error) {
    update({ trouble: storageWords(error) });
  } finally {
    keeping = false;
  }
}

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
  session.lastAct = undoable ? { words, ids: [], structure: session.structure, first: acts[0] } : null;
  session.problem = null;
  update();
  const turn = chain.then(() => keep(session, acts, shown, undoable));
  chain = turn.then(
    () => undefined,
    () => undefined,
  );
  return turn;
}

/** @param {import('./state').Session} session */
function refold(session) {
  const view = viewOf([...session.entries, ...session.provisional]);
  if (view) session.view = view;
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
    patient: session.view.patientId,
    ...people(),
    kind: act.kind,
    after: act.slot ? heads(known, act.slot).map((entry) => entry.id) : [],
    of: act.of || [],
    body: act.body,
  };
}

/** @param {import('./state').Session} session @param {Act[]} acts @param {Entry[]} shown @param {boolean} undoable */
async function keep(session, acts, shown, undoable) {
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
    const earlier = session.unsaved ? session.unsaved.acts : [];
    session.unsaved = { why: storageWords(error), acts: [...earlier, ...acts] };
    say(session.unsaved.why);
  }
  session.provisional = session.provisional.filter((entry) => !shown.includes(entry));
  if (kept) session.entries.push(...kept);
  refold(session);
  if (kept && undoable && session.lastAct) session.lastAct.ids = kept.map((entry) => entry.id);
  if (!kept) session.lastAct = null;
  if (kept) {
    say('saved on this phone');
    if (asked.length === 1 && asked[0].ids === idsOf(kept)) takeWhenAnswered(session, asked[0].answer, kept.length);
    else judgeAnew(session, asked);
    others.postMessage(session.id);
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

/** @param {import('./state').Session} session @param {Entry[]} entries @returns {Promise<any>} null when the rules do not have this exam */
async function askAbout(session, entries) {
  if (session !== state.session || !session.folded) return null;
  return ask({ do: 'apply', as: 'units', entries });
}

/**
 * What the rules were asked about was not kept (so): they get the whole exam again, and the old answers count no more.
 * @param {import('./state').Session} session @param {{answer: Promise<any>}[]} asked
 */
async function judgeAnew(session, asked) {
  await Promise.allSettled(asked.map((one) => one.answer));
  if (session !== state.session) return;
  session.folded = null;
  await judgeAll();
}

/** @param {import('./state').Session} session @param {Promise<any>} answer @param {number} count */
async function takeWhenAnswered(session, answer, count) {
  try {
    // Null: the whole exam was still being judged when this was sealed; the rules are asked now, if they have it.
    const given = (await answer) || (await askAbout(session, session.entries.slice(-count)));
    if (given && session === state.session) takeAnswer(session, given, Math.min(session.judged + count, session.entries.length));
  } catch (error) {
    session.folded = null;
    engineTrouble(error);
  }
}

/** Fold and judge the whole exam: when it is opened, and when the engine was started again. */
export async function judgeAll() {
  const session = state.session;
  if (!session) return;
  restartEngine();
  const count = session.entries.length;
  try {
    const earlier = await earlierOf(session);
    const answer = await ask({ do: 'open', as: 'units', entries: session.entries.slice(0, count), earlier, today: localDate(), learned: session.learned });
    takeAnswer(session, answer, count);
    const missed = session.entries.slice(count);
    if (missed.length) await takeWhenAnswered(session, askAbout(session, missed), missed.length);
  } catch (error) {
    engineTrouble(error);
  }
}

/** Another window wrote, or the practice sent: read the exam again. A lost message costs nothing but freshness. */
const others = new BroadcastChannel('gelside-entries');
others.onmessage = (/** @type {MessageEvent} */ event) => readAgain(String(event.data));

/**
 * While something of this window is on its way to the disk, reading waits for it (`stale`): what is read must hold it too.
 * @param {string} exam @returns {Promise<void>}
 */
export async function readAgain(exam) {
  const session = state.session;
  if (!session || session.id !== exam) return;
  session.stale = session.provisional.length > 0;
  if (session.stale) return;
  const before = session.entries.length;
  const entries = await examEntries(exam);
  if (session !== state.session) return;
  if (session.provisional.length || session.entries.length !== before) {
    session.stale = true;
    readIfStale(session);
    return;
  }
  if (entries.length <= before) return;
  session.entries = entries;
  session.folded = null;
  refold(session);
  update();
  await judgeAll();
}

/** @param {import('./state').Session} session */
function readIfStale(session) {
  if (session.stale && !session.provisional.length) readAgain(session.id);
}

/** Other exams of the animal that are on this phone. @param {import('./state').Session} session */
async function earlierOf(session) {
  const all = await patientEntries(session.view.patientId);
  /** @type {Map<string, Entry[]>} */
  const exams = new Map();
  for (const entry of all) {
    if (!entry.exam || entry.exam === session.id) continue;
    exams.set(entry.exam, [...(exams.get(entry.exam) || []), entry]);
  }
  return [...exams.values()].filter((list) => list.some((entry) => entry.kind === 'opened')).map((entries) => ({ entries }));
}

/** @param {import('./state').Session} session @param {import('./types').EngineAnswer} answer @param {number} covered */
function takeAnswer(session, answer, covered) {
  state.engineWords = '';
  session.judgement = answer.judgement;
  session.folded = answer.exam;
  session.judged = Math.max(session.judged, covered);
  if (answer.earlier) session.earlier = answer.earlier;
  update();
}

/** @param {unknown} error */
function engineTrouble(error) {
  const words = error instanceof Error ? error.message : String(error);
  update({ engineWords: words });
  say('The limits are not compared at the moment; everything is kept.');
}

/** Try once more what the phone could not keep. */
export async function saveAgain() {
  const session = state.session;
  if (!session?.unsaved) return;
  const { acts } = session.unsaved;
  session.unsaved = null;
  await record(acts, 'kept at the second try');
}

/** Strike what was done last. */
export async function undo() {
  const session = state.session;
  const last = session?.lastAct;
  if (!session || !last || !last.ids.length) return;
  session.lastAct = null;
  const struck = session.entries.find((entry) => entry.id === last.ids[0]);
  const about = struck ? String(struck.body.about) : 'exam';
  const kept = await record([{ kind: 'struck', body: { about, why: 'undo' }, of: last.ids }], '', false);
  if (kept && last.structure !== session.structure && !session.typed) go(last.structure, null);
}

/** This phone's device id. */
export async function thisDevice() {
  return (await deviceState()).device;
}

/** Leave the exam screen without closing the exam. */
export async function leave() {
  if (heldByDigits()) return;
  await keepPosition(true);
  state.session = null;
  update({ screen: 'list' });
}

