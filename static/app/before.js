/** What was said the last time: offered on the start page, never recorded by itself. */
import { allExams, examsOfAnimal } from './exam-index.js';
import { viewOf } from './exam-view.js';
import { deviceState } from './journal.js';
import { PREPARATION } from './preparation.js';

/** @typedef {import('./day.js').Day} Day */

/** The last answer to each question of the preparation, of this animal or of the exam before on this phone. @param {Day | null} day @param {string | null} patient @returns {Promise<Record<string, any>>} */
export async function askedBefore(day, patient) {
  const [exams, { device }] = await Promise.all([allExams(), deviceState()]);
  const animals = patient ? examsOfAnimal(exams, day, patient) : [];
  const phones = exams.filter((exam) => exam.opened.device === device);
  const said = {
    animal: animals.map((exam) => viewOf(exam.entries)?.context || {}).reverse(),
    phone: phones.slice(-1).map((exam) => viewOf(exam.entries)?.context || {}),
  };
  /** @type {Record<string, any>} */
  const before = {};
  for (const { field, asBefore } of PREPARATION) {
    const answers = asBefore ? said[asBefore].map((context) => context[field]).filter((one) => one !== undefined && one !== null) : [];
    if (answers.length) before[field] = answers[0];
  }
  return before;
}

/**
 * Earlier exams of an animal in a line each, newest first. No sizes: they stand beside the box after the first reading,
 * so that they do not lead the hand.
 * @param {Day | null} day @param {string} patient @returns {Promise<{id: string, date: string, weight: import('./types').Patient, asked: string, answered: string | null, finished: boolean}[]>}
 */
export async function earlierExams(day, patient) {
  const found = examsOfAnimal(await allExams(), day, patient).map((exam) => viewOf(exam.entries));
  return found
    .flatMap((view) => (view ? [view] : []))
    .sort((a, b) => (a.date < b.date ? 1 : -1))
    .map((view) => ({
      id: view.id, date: view.date, weight: view.patient, asked: view.question.text, answered: view.question.answered, finished: view.closed || view.signed,
    }));
}
