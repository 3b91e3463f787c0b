/**
 * The exam in front of the rules: folded and judged whole when it is opened, entry by entry while it is recorded,
 * and anew when another window or the practice added something.
 */
import { ask, restartEngine } from './engine.js';
import { localDate } from './entry.js';
import { viewOf } from './exam-view.js';
import { readDay } from './day.js';
import { allExams, examsOfAnimal } from './exam-index.js';
import { examEntries } from './journal.js';
import { say, state, update } from './state.js';

/** @typedef {import('./types').Entry} Entry */

/** The screen's fold of what is kept and what is on its way. @param {import('./state').Session} session */
export function refold(session) {
  const view = viewOf([...session.entries, ...session.provisional]);
  if (view) session.view = view;
}

/** @param {import('./state').Session} session @param {Entry[]} entries @returns {Promise<any>} null when the rules do not have this exam */
export async function askAbout(session, entries) {
  if (session !== state.session || !session.folded) return null;
  return ask({ do: 'apply', as: 'units', entries });
}

/**
 * What the rules were asked about was not kept (so): they get the whole exam again, and the old answers count no more.
 * @param {import('./state').Session} session @param {{answer: Promise<any>}[]} asked
 */
export async function judgeAnew(session, asked) {
  await Promise.allSettled(asked.map((one) => one.answer));
  if (session !== state.session) return;
  session.folded = null;
  await judgeAll();
}

/** @param {import('./state').Session} session @param {Promise<any>} answer @param {number} count */
export async function takeWhenAnswered(session, answer, count) {
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
    session.comparedFor = session.view.patientId;
    const earlier = await earlierOf(session);
    const answer = await ask({ do: 'open', as: 'units', entries: session.entries.slice(0, count), earlier, today: localDate(), learned: session.learned });
    takeAnswer(session, answer, count);
    const missed = session.entries.slice(count);
    if (missed.length) await takeWhenAnswered(session, askAbout(session, missed), missed.length);
  } catch (error) {
    engineTrouble(error);
  }
}

/**
 * Exams of the past came while this one is open: what it holds is compared with them, too.
 * @param {Entry[]} fresh @returns {Promise<void>}
 */
export async function compareAnew(fresh) {
  const session = state.session;
  if (!session) return;
  const { patientId } = session.view;
  const beside = fresh.filter(({ exam }) => exam !== session.id);
  // While a list is being fetched they may lie under another record of the animal.
  if (state.sync.coming ? beside.length : beside.some(({ exam, patient }) => !exam || patient === patientId)) await judgeAll();
}

/** Another window wrote, or the practice sent: read the exam again. A lost message costs nothing but freshness. */
const others = new BroadcastChannel('gelside-entries');
others.onmessage = (/** @type {MessageEvent} */ event) => readAgain(String(event.data));

/** Tell the other windows that something was kept. @param {string} exam */
export function toldOthers(exam) {
  others.postMessage(exam);
}

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
  const entries = await examEntries(exam).catch((error) => {
    if (session === state.session) throw error; // else it was left, and the phone may have locked behind it
    return [];
  });
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
export function readIfStale(session) {
  if (session.stale && !session.provisional.length) readAgain(session.id);
}

/** Exams of the animal on days before, under any of its records. @param {import('./state').Session} session */
async function earlierOf(session) {
  const { patientId, date } = session.view;
  const day = await readDay(() => {
    if (session === state.session) judgeAll();
  });
  const exams = examsOfAnimal(await allExams(), day, patientId);
  return exams.filter((exam) => exam.id !== session.id && String(exam.opened.body.date) < date).map(({ entries }) => ({ entries }));
}

/** @param {import('./state').Session} session @param {import('./types').EngineAnswer} answer @param {number} covered */
function takeAnswer(session, answer, covered) {
  state.engineWords = '';
  session.judgement = answer.judgement;
  session.folded = answer.exam;
  session.judged = Math.max(session.judged, covered);
  if (answer.earlier) session.earlier = answer.earlier;
  update();
  // Moved to another animal (or back): its own earlier exams are compared from now on.
  if (session.view.patientId !== session.comparedFor) judgeAll();
}

/** @param {unknown} error */
function engineTrouble(error) {
  const words = error instanceof Error ? error.message : String(error);
  update({ engineWords: words });
  say('The limits are not compared at the moment; everything is kept.');
}
