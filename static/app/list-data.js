/** Today's list: visits as they stand, exams begun here, and earlier exams of each animal. */
import { dayWords } from './dates.js';
import { patientOf, readDay, recordsOf } from './day.js';
import { localDate } from './entry.js';
import { allExams, examsOfAnimal } from './exam-index.js';
import { viewOf } from './exam-view.js';
import { deviceState } from './journal.js';
import { changedWords, forkWords } from './visit-words.js';

/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./day.js').Day} Day */
/** @typedef {import('./day.js').Visit} Visit */
/** @typedef {import('./exam-index.js').Exam} Exam */
/** @typedef {'waiting' | 'begun' | 'finished' | 'signed'} Stage */
/**
 * `away`: why the visit is not of this list any more (cancelled, another day), else ''. `patient`: of the exam where one
 * is begun; `record`: the animal as the practice knows it.
 * @typedef {{key: string, visit: Visit | null, patientId: string, patient: any, record: any, question: any, time: string, exam: string | null, stage: Stage, away: string, changed: string, forks: string[], asked: import('./types').Asked[], earlier: {id: string, date: string}[]}} Item
 */
/** @typedef {{date: string, today: boolean, items: Item[], day: Day}} List */

/** @param {() => void} late see readDay @returns {Promise<List>} */
export async function loadList(late) {
  const [day, exams, { device }] = await Promise.all([readDay(late), allExams(), deviceState()]);
  const today = localDate();
  const dates = [...new Set(day.visits.flatMap((visit) => visit.dates))].sort();
  const date = dates.find((day) => day >= today) || dates[dates.length - 1] || today;
  const items = day.visits.filter((visit) => isOf(day, visit, date)).sort(byOrder).map((visit) => visitItem(day, visit, exams, date));
  const listed = new Set(items.map((item) => item.exam));
  for (const exam of exams) {
    const item = listed.has(exam.id) ? null : looseItem(day, exam, exams, today, device);
    if (item) items.push(item);
  }
  return { date, today: date === today, items: [...items.filter((item) => !item.away), ...items.filter((item) => item.away)], day };
}

/** A visit of that day, or one that was planned for it and went to another. @param {Day} day @param {Visit} visit @param {string} date */
function isOf(day, visit, date) {
  return visit.dates.includes(date) || day.planned.get(visit.id)?.body.date === date;
}

/** As ordered at the desk, then by time; what has no order comes after what has one. @param {Visit} a @param {Visit} b */
function byOrder(a, b) {
  const order = (/** @type {Visit} */ visit) => visit.order ?? Number.MAX_SAFE_INTEGER;
  return order(a) - order(b) || String(a.time || '~').localeCompare(String(b.time || '~')) || (a.id < b.id ? -1 : 1);
}

/** @param {Day} day @param {Visit} visit @param {Exam[]} exams @param {string} date @returns {Item} */
function visitItem(day, visit, exams, date) {
  const exam = examOf(day, visit, exams, date);
  const view = exam ? viewOf(exam.entries) : null;
  const record = patientOf(day, visit);
  return {
    key: visit.id,
    visit,
    patientId: visit.patient,
    patient: view ? view.patient : record,
    record,
    question: view ? view.question : visit.question || {},
    time: visit.time || '',
    exam: exam ? exam.id : null,
    stage: view ? stageOf(view) : 'waiting',
    away: awayWords(visit, date),
    changed: changedWords(visit, day.planned.get(visit.id), date),
    forks: forkWords([...visit.forks, ...(day.animals[visit.patient]?.forks || [])]),
    asked: openQuestions(view),
    earlier: earlierOf(examsOfAnimal(exams, day, visit.patient), exam),
  };
}

/** The newest exam that was opened for the visit and not moved away, or one of the day that was moved to its animal. @param {Day} day @param {Visit} visit @param {Exam[]} exams @param {string} date */
function examOf(day, visit, exams, date) {
  const own = examsOfAnimal(exams, day, visit.patient).filter((exam) =>
    exam.opened.body.visit === visit.id || (exam.moved && exam.opened.body.date === date));
  return own.length ? own[own.length - 1] : null;
}

/** @param {Visit} visit @param {string} date */
function awayWords(visit, date) {
  if (visit.cancelled) return 'cancelled';
  return visit.dates.includes(date) ? '' : `planned for ${visit.dates.map((one) => dayWords(one)).join(' or ')} now`;
}

/**
 * An exam of today without a visit on the list, one of this phone that was never finished, or one that the desk asks about.
 * @param {Day} day @param {Exam} exam @param {Exam[]} exams @param {string} today @param {string} device @returns {Item | null}
 */
function looseItem(day, exam, exams, today, device) {
  const ofToday = exam.opened.body.date === today;
  if (!ofToday && isPlainlyOver(exam.entries)) return null;
  const view = viewOf(exam.entries);
  const asked = openQuestions(view);
  if (!ofToday && exam.opened.device !== device && !asked.length) return null;
  const stage = stageOf(view);
  if (!view || (!ofToday && stage !== 'begun' && !asked.length)) return null;
  return {
    key: exam.id,
    visit: null,
    patientId: exam.patient,
    patient: view.patient,
    record: view.patient,
    question: view.question,
    time: ofToday ? exam.opened.at.slice(11, 16) : '',
    exam: exam.id,
    stage,
    away: '',
    changed: '',
    forks: [],
    asked,
    earlier: earlierOf(examsOfAnimal(exams, day, exam.patient), exam),
  };
}

/** Finished or signed, and nobody took anything back or asks: what most exams of days before are, told without folding them. @param {Entry[]} entries */
function isPlainlyOver(entries) {
  const over = entries.some(({ kind }) => kind === 'closed' || kind === 'signed');
  return over && !entries.some(({ kind, body }) => kind === 'struck' || body.asks);
}

/** @param {import('./types').ExamView | null} view */
function openQuestions(view) {
  return (view?.asked || []).filter((one) => one.open);
}

/** @param {import('./types').ExamView | null} view @returns {'begun' | 'finished' | 'signed'} */
function stageOf(view) {
  if (view?.signed) return 'signed';
  return view?.closed ? 'finished' : 'begun';
}

/** Newest first. @param {Exam[]} exams of the animal @param {Exam | null} now */
function earlierOf(exams, now) {
  return exams
    .filter((exam) => exam.id !== now?.id)
    .map((exam) => ({ id: exam.id, date: String(exam.opened.body.date) }))
    .sort((a, b) => (a.date < b.date ? 1 : -1));
}

/** Whether two ids are records of one animal. @param {List | null} list @param {string} one @param {string} other */
export function sameAnimal(list, one, other) {
  return recordsOf(list?.day || null, one).includes(other);
}
