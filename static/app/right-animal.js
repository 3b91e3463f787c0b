/**
 * Is it still the same animal? Asked when a hand comes back after minutes, when another exam was written in between, and
 * when an animal is opened minutes after something was written for another one whose exam is not finished. One tap
 * answers; nothing is asked of who goes on with the animal in hand.
 */
import { ago } from './chip-words.js';
import { deviceState } from './journal.js';
import { sameAnimal } from './list-data.js';
import { find } from './shelf.js';
import { allExams } from './exam-index.js';
import { viewOf } from './exam-view.js';

/** A choice of ours: after these minutes nobody remembers for sure which animal is on the table. */
export const ASK_AFTER_MS = 5 * 60000;

/** @typedef {{exam: string, at: string, name: string, patientId: string, finished: boolean}} LastAct the newest entry of this phone that belongs to an exam */

/** @returns {Promise<LastAct | null>} */
export async function lastWritten() {
  const { device } = await deviceState();
  const exams = new Map((await allExams()).map((exam) => [exam.id, exam]));
  const own = await find((entry) => entry.device === device && entry.exam !== null && exams.has(entry.exam));
  if (!own.length) return null;
  const last = own.reduce((newest, entry) => (entry.seq > newest.seq ? entry : newest));
  const exam = exams.get(String(last.exam));
  const view = exam ? viewOf(exam.entries) : null;
  if (!exam || !view) return null;
  return { exam: exam.id, at: last.at, name: view.patient.name || 'an animal without a name', patientId: exam.patient, finished: view.closed || view.signed };
}

/** When this phone last wrote for the exam, or null. @param {string} exam @returns {Promise<string | null>} */
export async function lastWrittenFor(exam) {
  const { device } = await deviceState();
  const own = await find((entry) => entry.device === device && entry.exam === exam);
  return own.length ? own.reduce((newest, entry) => (entry.seq > newest.seq ? entry : newest)).at : null;
}

/** @param {string} at @param {number} now */
export function longAgo(at, now) {
  return now - new Date(at).getTime() >= ASK_AFTER_MS;
}

/** "You wrote for Bella 2 minutes ago." @param {LastAct} last @param {number} now */
export function wroteWords(last, now) {
  return `You wrote for ${last.name} ${agoWords(last.at, now)}.`;
}

/** @param {string} at @param {number} now */
export function agoWords(at, now) {
  const words = ago(at, now).replace(/^1 min$/, '1 minute').replace(/ min$/, ' minutes');
  return words === 'just now' ? words : `${words} ago`;
}

/**
 * What to ask before an animal is opened.
 * @param {LastAct | null} last @param {import('./list-data.js').List | null} list
 * @param {{patientId: string | null, exam: string | null, at: string | null}} target no patient: a walk-in; `at`: when this phone last wrote for its exam
 * @param {number} now
 * @returns {'other' | 'again' | null} another animal is in hand; this one was left some time ago
 */
export function whatToAsk(last, list, target, now) {
  if (!last) return null;
  const same = target.patientId !== null && sameAnimal(list, last.patientId, target.patientId);
  if (!same && !last.finished && !longAgo(last.at, now)) return 'other';
  if (!target.exam || !target.at) return null;
  return last.exam !== target.exam || longAgo(target.at, now) ? 'again' : null;
}
