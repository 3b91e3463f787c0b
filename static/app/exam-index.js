/** Every exam on this phone with the animal it belongs to now: a move to another animal counts, merged records are one. */
import { recordsOf } from './day.js';
import { viewOf } from './exam-view.js';
import { moves } from './moved.js';
import { ofAnAnimal } from './pairs.js';
import { find } from './shelf.js';

/** @typedef {import('./types').Entry} Entry */
/** @typedef {{id: string, opened: Entry, entries: Entry[], patient: string, moved: boolean}} Exam */

/** @returns {Promise<Exam[]>} in the order of their opening */
export async function allExams() {
  /** @type {Map<string, Entry[]>} */
  const groups = new Map();
  for (const entry of await find((one) => one.exam !== null)) {
    const key = String(entry.exam);
    const group = groups.get(key);
    if (group) group.push(entry);
    else groups.set(key, [entry]);
  }
  return [...groups].flatMap(([id, entries]) => examOf(id, entries)).sort((a, b) => (a.opened.at < b.opened.at ? -1 : 1));
}

/** @param {string} id @param {Entry[]} entries @returns {Exam[]} none without an opening of an animal's exam */
function examOf(id, entries) {
  const opened = entries.find((entry) => entry.kind === 'opened');
  if (!opened || !ofAnAnimal(opened)) return [];
  const moved = entries.some(moves);
  const patient = moved ? viewOf(entries)?.patientId || String(opened.patient) : String(opened.patient);
  return [{ id, opened, entries, patient, moved: patient !== String(opened.patient) }];
}

/** The exams of one animal under any of its records. @param {Exam[]} exams @param {import('./day.js').Day | null} day @param {string} patient */
export function examsOfAnimal(exams, day, patient) {
  const records = recordsOf(day, patient);
  return exams.filter((exam) => records.includes(exam.patient));
}
