/**
 * Measuring twice, to know one's own spread: pairs of readings of one quantity, each from a new image. They are entries
 * of an exam with a purpose of its own that belongs to no animal: nothing is judged, listed or reported of it.
 */
import { storageWords } from './db.js';
import { ask } from './engine.js';
import { localDate, uuid7 } from './entry.js';
import { append, examEntries, kindEntries } from './journal.js';
import { NumberProblem, question, readNumber } from './number.js';
import { nextPlace, pairsOf, patternOf } from './pairs.js';
import { people, say, state, update } from './state.js';
import { nudge } from './sync.js';
import { quantityOf } from './tables.js';

/** @typedef {import('./types').Draft} Draft */

const PURPOSE = 'measure_twice';

/** @param {any} patch */
export function change(patch) {
  update({ form: { ...state.form, ...patch } });
}

/** @param {{quantity?: string | null, species?: string | null, back: string}} place */
export function openTwice({ quantity = null, species = null, back }) {
  update({
    screen: 'twice',
    form: { back, species, quantity, exam: null, entries: [], typed: '', problem: null, asking: null, result: null, busy: false },
  });
  if (quantity) learn();
}

/** @param {string} quantity */
export function chooseQuantity(quantity) {
  change({ quantity });
  learn();
}

/** @param {string} key */
export function pressTwice(key) {
  const { quantity, typed } = state.form;
  if (quantity && typed.length < 14) change({ typed: typed + key, problem: null, asking: null });
}

export function eraseTwice() {
  change({ typed: state.form.typed.slice(0, -1), problem: null, asking: null });
}

/** Keep the typed number as the next reading. @param {boolean} [sure] the question about it was answered */
export async function keepTwice(sure = false) {
  const form = state.form;
  const quantity = quantityOf(form.quantity);
  if (!quantity || form.busy) return;
  try {
    const read = readNumber(form.typed, state.settings.machineUnit, quantity.unit);
    // Whose image it is may not be known: asked about only where neither a dog nor a cat has such a value.
    const asked = (form.species ? [form.species] : ['dog', 'cat']).map((species) => question(read, quantity, species));
    const asking = sure || asked.includes(null) ? null : asked[0];
    if (asking) {
      change({ asking, problem: null });
      say(asking.message);
      return;
    }
    const { pair } = nextPlace(pairsOf(form.entries));
    const plane = quantity.plane ? { plane: quantity.plane } : {};
    await write([{ kind: 'read', body: { about: quantity.id, ...read, ...plane, acquired: 'new_image', pair } }]);
  } catch (error) {
    if (!(error instanceof NumberProblem)) throw error;
    change({ problem: error.message, asking: null });
    say(error.message);
  }
}

/** The last reading does not count: a slip, a poor image. It stays in the record. */
export async function strikeTwice() {
  const { entries, busy } = state.form;
  const last = pairsOf(entries).flatMap((one) => one.readings).pop();
  if (last && !busy) await write([{ kind: 'struck', body: { about: last.body.about, why: 'slip' }, of: [last.id] }]);
}

/** @param {{kind: string, body: Record<string, any>, of?: string[]}[]} acts */
async function write(acts) {
  const form = state.form;
  const exam = form.exam || uuid7();
  const opening = { kind: 'opened', body: { about: 'exam', date: localDate(), purpose: PURPOSE, patient: form.species ? { species: form.species } : {} } };
  const drafts = (form.exam ? acts : [opening, ...acts]).map(
    (/** @type {any} */ act) => /** @type {Draft} */ ({ exam, patient: null, ...people(), kind: act.kind, after: [], of: act.of || [], body: act.body }),
  );
  change({ busy: true });
  try {
    const kept = await append(drafts);
    change({ exam, entries: [...form.entries, ...kept], typed: '', problem: null, asking: null, busy: false });
    say('saved on this phone');
    nudge();
  } catch (error) {
    // Nothing was kept: what was typed stays, to be tried again.
    change({ busy: false, problem: storageWords(error) });
    return;
  }
  await learn();
}

/** Who the readings are by: the person written for, or the one who writes. */
function reader() {
  const { author, behalf } = people();
  return behalf || author;
}

/** The spread of these pairs, and of all own pairs on this phone. */
async function learn() {
  const { quantity, exam, entries } = state.form;
  const pattern = patternOf(quantity);
  try {
    const before = [];
    for (const opened of await kindEntries('opened')) {
      if (opened.body.purpose === PURPOSE && opened.exam && opened.exam !== exam) before.push(await examEntries(opened.exam));
    }
    const [here, all] = await Promise.all([[entries], [...before, entries]].map((exams) => ask({ do: 'learn', exams })));
    const own = (/** @type {any} */ answer) => answer.learned[pattern]?.observers[reader()] || null;
    if (state.screen === 'twice') change({ result: { here: own(here), all: before.length ? own(all) : null } });
  } catch (error) {
    if (state.screen === 'twice') change({ problem: error instanceof Error ? error.message : String(error) });
  }
}

/** The practice's row of this quantity: the person's own, and that of everybody. @param {string} quantity */
export function atThePractice(quantity) {
  const row = state.practice?.learned?.[patternOf(quantity)];
  return row ? { own: row.observers[reader()] || null, everyone: row.pooled } : null;
}

/** Done: the measuring is closed, and the screen goes back to where it came from. */
export async function leaveTwice() {
  const { back, exam, entries, typed, busy } = state.form;
  if (busy) return;
  if (typed) {
    const problem = `${typed} is typed but not kept: keep it or erase it first.`;
    change({ problem });
    say(problem);
    return;
  }
  if (exam && entries.length) {
    change({ busy: true });
    try {
      await append([{ exam, patient: null, ...people(), kind: 'closed', after: [], of: [], body: { about: 'exam' } }]);
      nudge();
    } catch (error) {
      change({ busy: false, problem: storageWords(error) });
      return;
    }
  }
  update({ screen: back, form: back === 'settings' ? { back: 'list' } : null });
}
