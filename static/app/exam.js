/** The exam on the screen: begun, shown, left. */
import { storageWords } from './db.js';
import { examOfVisit, localDate, uuid7 } from './entry.js';
import { viewOf } from './exam-view.js';
import { go, held, keepPosition, keptMeanwhile, onwards } from './hand.js';
import { keepDraft, readDraft } from './in-hand.js';
import { append, examEntries } from './journal.js';
import { judgeAll } from './judging.js';
import { nextOpen } from './order.js';
import { allAnswered, offerUndo } from './record.js';
import { people, state, update } from './state.js';
import { nudge } from './sync.js';
import { catalogue } from './tables.js';
import { heldByUnsaved } from './unsaved.js';

/**
 * Write the opening entry and show the exam.
 * @param {{patientId: string | null, visit: string | null, patient: any, question: any, context: any, chip?: Record<string, any> | null, purpose?: string}} animal `chip`: what the chip number said
 * @returns {Promise<boolean>} false when it could not be saved
 */
export async function openNew(animal) {
  const exam = await idFor(animal.visit);
  const patient = animal.patientId || uuid7();
  const body = {
    about: 'exam',
    date: localDate(),
    visit: animal.visit,
    patient: animal.patient,
    question: animal.question,
    context: animal.context,
    ...(animal.purpose ? { purpose: animal.purpose } : {}),
  };
  try {
    const header = { exam, patient, ...people(), after: [], of: [] };
    const chip = animal.chip ? [{ ...header, kind: 'set', body: { about: 'exam.chip', ...animal.chip } }] : [];
    await append([{ ...header, kind: 'opened', body }, ...chip]);
  } catch (error) {
    update({ trouble: storageWords(error, `the opening of ${animal.patient.name || 'this exam'}`) });
    return false;
  }
  nudge();
  await show(exam, null);
  return true;
}

/** The visit's own id, unless its exam is here already (and was given to another animal): then a new one. @param {string | null} visit */
async function idFor(visit) {
  const own = visit && (await examOfVisit(visit));
  return own && !(await examEntries(own)).length ? own : uuid7();
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
  const place = position && keptMeanwhile(position, view);
  const first = (place || left)?.structure || nextOpen(catalogue(), view, list[list.length - 1].id) || list[0].id;
  /** @type {import('./state').Session} */
  const session = {
    id: exam, entries, provisional: [], stale: false, view, judgement: null, judged: 0, earlier: [], comparedFor: '', folded: null,
    structure: first, row: null, typed: '', panel: null, parts: false, more: false, problem: null,
    asking: null, lastAct: null, byKey: false, takenBack: '', lesion: null, how: {}, unsaved: null,
    learned: state.practice?.learned || {},
  };
  await offerUndo(session);
  // From here to the screen nothing waits: a tap in its first moment is not taken back by what comes after.
  state.session = session;
  update({ trouble: null, resume: null });
  go(first, place || left);
  if (place !== position) onwards();
  if (place?.panel) state.session.panel = place.panel;
  await judgeAll();
}

/** Digits that were typed when another animal was chosen after an interruption: they come back with their exam, once. @param {string} exam */
async function leftDigits(exam) {
  const left = await readDraft(`typed:${exam}`);
  if (left) await keepDraft(`typed:${exam}`, null);
  return left || null;
}

/** Leave the exam screen without closing the exam: once the storage has answered for all that was tapped, and only if it took it. */
export async function leave() {
  const { session } = state;
  if (!session || held() || heldByUnsaved(session)) return;
  await allAnswered(session);
  if (session !== state.session || held() || heldByUnsaved(session)) return;
  await keepPosition(true);
  state.session = null;
  update({ screen: 'list' });
}
