/** From a row of the list to an exam: the animal is asked about where it could be the wrong one. */
import { show } from './exam.js';
import { readDraft } from './in-hand.js';
import { agoWords, lastWritten, lastWrittenFor, whatToAsk, wroteWords } from './right-animal.js';
import { emptyForm, formFromVisit } from './start-form.js';
import { state, update } from './state.js';

/** @typedef {import('./list-data.js').Item} Item */

/** @param {Item} item */
export async function open(item) {
  // The start page asks who scans; an exam that was begun elsewhere would otherwise be written by nobody.
  if (item.exam && !state.settings.author) {
    update({ screen: 'settings', form: { back: 'list', whoFirst: true } });
    return;
  }
  await asked(item, () => openNow(item));
}

/** @param {Item} item */
async function openNow(item) {
  if (!item.exam) {
    update({ screen: 'start', form: formFromVisit(item), resume: null });
    return;
  }
  await show(item.exam, await placeIn(item.exam));
}

/** Where the hand was in this exam, if it was the last one in hand. @param {string} exam */
async function placeIn(exam) {
  const position = await readDraft('position');
  return position?.exam === exam ? position : null;
}

export async function openWalkIn() {
  await asked(null, () => update({ screen: 'start', form: emptyForm(), resume: null }));
}

/** @param {Item | null} item null: a walk-in @param {() => void} go */
async function asked(item, go) {
  const now = Date.now();
  const [last, at] = await Promise.all([lastWritten(), item?.exam ? lastWrittenFor(item.exam) : Promise.resolve(null)]);
  const why = whatToAsk(last, state.list, { patientId: item ? item.patientId : null, exam: item?.exam || null, at }, now);
  if (!last || !why) {
    go();
    return;
  }
  const name = item ? item.patient.name || 'this animal' : 'a walk-in';
  const back = { words: `back to ${last.name}`, act: 'back-to', go: () => show(last.exam, null) };
  const list = { words: 'back to the list', act: 'other-animal', go: () => update({ screen: 'list', resume: null }) };
  const wrote = wroteWords(last, now);
  update({
    screen: 'resume',
    resume: {
      patient: item?.patient || {},
      title: item ? undefined : 'A walk-in animal',
      lines: why === 'other' ? [`${wrote} That exam is not finished.`] : [at ? `You last wrote here ${agoWords(at, now)}.` : '', last.exam === item?.exam ? '' : wrote].filter(Boolean),
      choices: why === 'other'
        ? [{ words: item ? `open ${name}` : 'start a walk-in', act: 'go-on', go }, back, list]
        : [{ words: `yes, ${name} is on the table`, act: 'go-on', go }, list],
    },
  });
}
