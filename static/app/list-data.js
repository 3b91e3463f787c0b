/** Today's list from the entries on this phone: planned visits, exams begun here, and earlier exams of each animal. */
import { localDate } from './entry.js';
import { viewOf } from './exam-view.js';
import { deviceState, examEntries, kindEntries } from './journal.js';
import { ofAnAnimal } from './pairs.js';

/** @typedef {import('./types').Entry} Entry */
/** @typedef {{key: string, visit: Entry | null, patientId: string, patient: any, question: any, time: string, exam: string | null, stage: 'waiting' | 'begun' | 'finished' | 'signed', earlier: {id: string, date: string}[]}} Item */

/** @returns {Promise<{date: string, today: boolean, items: Item[]}>} */
export async function loadList() {
  const [planned, allOpened, { device }] = await Promise.all([kindEntries('planned'), kindEntries('opened'), deviceState()]);
  const opened = allOpened.filter(ofAnAnimal);
  const today = localDate();
  const dates = [...new Set(planned.map((entry) => String(entry.body.date)))].sort();
  const date = dates.includes(today) || !dates.length ? today : /** @type {string} */ (dates[dates.length - 1]);
  const visits = planned.filter((entry) => entry.body.date === date).sort(byTime);
  const items = [];
  for (const visit of visits) items.push(await visitItem(visit, opened));
  const listed = new Set(items.map((item) => item.exam));
  for (const entry of opened) {
    if (!listed.has(entry.exam) && !entry.body.visit) await addWalkIn(items, entry, opened, today, device);
  }
  return { date, today: date === today, items };
}

/** @param {Entry} a @param {Entry} b */
function byTime(a, b) {
  return (a.body.order ?? 0) - (b.body.order ?? 0) || String(a.body.time).localeCompare(String(b.body.time));
}

/** @param {Entry} visit @param {Entry[]} opened @returns {Promise<Item>} */
async function visitItem(visit, opened) {
  const own = opened.filter((entry) => entry.body.visit === visit.id);
  const exam = own.length ? own[own.length - 1].exam : null;
  const view = exam ? viewOf(await examEntries(exam)) : null;
  return {
    key: visit.id,
    visit,
    patientId: String(visit.patient),
    patient: view ? view.patient : visit.body.patient || {},
    question: visit.body.question || {},
    time: visit.body.time || '',
    exam,
    stage: view ? stageOf(view) : 'waiting',
    earlier: earlierOf(visit.patient, exam, opened),
  };
}

/**
 * A walk-in of today, or one of this phone that was never finished.
 * @param {Item[]} items @param {Entry} entry @param {Entry[]} opened @param {string} today @param {string} device
 */
async function addWalkIn(items, entry, opened, today, device) {
  if (!entry.exam || (entry.body.date !== today && entry.device !== device)) return;
  const view = viewOf(await examEntries(entry.exam));
  const stage = stageOf(view);
  if (!view || (entry.body.date !== today && stage !== 'begun')) return;
  items.push({
    key: entry.exam,
    visit: null,
    patientId: String(entry.patient),
    patient: view.patient,
    question: view.question,
    time: entry.at.slice(11, 16),
    exam: entry.exam,
    stage,
    earlier: earlierOf(entry.patient, entry.exam, opened),
  });
}

/** @param {import('./types').ExamView | null} view @returns {'begun' | 'finished' | 'signed'} */
function stageOf(view) {
  if (view?.signed) return 'signed';
  return view?.closed ? 'finished' : 'begun';
}

/** @param {string | null} patient @param {string | null} exam @param {Entry[]} opened */
function earlierOf(patient, exam, opened) {
  return opened
    .filter((entry) => entry.patient === patient && entry.exam !== exam)
    .map((entry) => ({ id: String(entry.exam), date: String(entry.body.date) }))
    .sort((a, b) => (a.date < b.date ? 1 : -1));
}
