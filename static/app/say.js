/**
 * "Say or type": the words in hand, what the strict reader makes of them, and what a tap accepts.
 *
 * The words and what was accepted live here, not in the exam: only a tap makes an entry. The place spoken of last
 * counts for a minute, by this phone's clock, and only in the exam in which it was spoken of.
 */
import { actsOf, nextQuestion, words } from './say-words.js';
import { fieldsOf } from './circumstances.js';
import { storageWords } from './db.js';
import { ask } from './engine.js';
import { go } from './hand.js';
import { keepDraft, readDraft } from './in-hand.js';
import { claim } from './order.js';
import { record } from './record.js';
import { ownWays, state, update, updateSession } from './state.js';
import { catalogue, label, quantityOf, seenWords, structureOf } from './tables.js';
import { provider } from './voice.js';

/** @typedef {import('./say-words.js').Proposal} Proposal */
/** @typedef {import('./say-words.js').Answers} Answers */
/** @typedef {{structure: string, part: string | null, quantity: string | null, words: string}} Sticky */

const STICKY_MS = 60_000;
const PAUSE_MS = 200;

const EMPTY = { text: '', proposals: [], leftOver: '', onlyPlace: false, reading: false, problem: '', noteKept: false };

/** What the line holds; `keys` of proposals that were accepted from these very words. */
export const said = {
  exam: '',
  text: '',
  /** @type {Proposal[]} */ proposals: [],
  leftOver: '',
  onlyPlace: false,
  reading: false,
  problem: '',
  /** @type {Record<string, Answers>} */ answers: {},
  /** @type {string[]} */ kept: [],
  noteKept: false,
  /** @type {Sticky | null} */ next: null,
  /** @type {{sticky: Sticky, at: number, exam: string} | null} */ sticky: null,
  /** @type {{stop: () => void} | null} */ listening: null,
};

/** Open the line; words that were not finished come back. */
export async function openSay() {
  const session = state.session;
  if (!session) return;
  const known = said.exam === session.id;
  if (!known) Object.assign(said, EMPTY, { exam: session.id, sticky: null, next: null, answers: {}, kept: [] });
  updateSession({ panel: { kind: 'say' } });
  queueMicrotask(() => document.getElementById('say-text')?.focus());
  if (known) return;
  const draft = await readDraft(`say:${session.id}`);
  // Words that were typed meanwhile are the newer ones.
  if (draft?.text && !said.text && said.exam === session.id) setText(draft.text);
}

/** The place spoken of last, while its minute runs. @returns {Sticky | null} */
export function stickyNow() {
  const held = said.sticky;
  if (!held || held.exam !== state.session?.id || Date.now() - held.at > STICKY_MS) return null;
  return held.sticky;
}

/** @param {Sticky | null} sticky */
function hold(sticky) {
  if (!sticky || !state.session) return;
  said.sticky = { sticky, at: Date.now(), exam: state.session.id };
  setTimeout(update, STICKY_MS + 50);
}

/** @type {ReturnType<typeof setTimeout> | undefined} */
let pause;

/** Every keystroke is kept; the reader looks when the hand pauses. @param {string} text */
export function setText(text) {
  Object.assign(said, EMPTY, { text, answers: {}, kept: [], reading: Boolean(text.trim()) });
  const exam = said.exam;
  keepDraft(`say:${exam}`, text ? { exam, text } : null).catch((error) => update({ trouble: storageWords(error) }));
  clearTimeout(pause);
  if (text.trim()) pause = setTimeout(look, PAUSE_MS);
  update();
}

/** A person's own short words as what they stand for: the reader, and the screen, know only that. @param {string} text */
function spokenOut(text) {
  const { phrases } = ownWays();
  return text.replace(/[a-z]+/gi, (word) => (Object.hasOwn(phrases, word.toLowerCase()) ? phrases[word.toLowerCase()] : word));
}

/** Ask the reader about the words in hand; an answer that comes too late is let go. */
export async function look() {
  clearTimeout(pause);
  const { text } = said;
  const session = state.session;
  if (!session || !text.trim()) return;
  const species = session.view.patient.species;
  if (!species) {
    Object.assign(said, { reading: false, leftOver: text.trim(), problem: 'The species is unknown: words can be kept as a note.' });
    update();
    return;
  }
  const held = stickyNow();
  const sticky = held && said.sticky ? { ...held, age_s: Math.floor((Date.now() - said.sticky.at) / 1000) } : null;
  try {
    const answer = await ask({ do: 'phrase', text: spokenOut(text), species, unit: state.settings.machineUnit, sticky });
    if (said.text !== text) return;
    Object.assign(said, { proposals: answer.proposals, leftOver: answer.left_over, onlyPlace: answer.only_place, next: answer.sticky, reading: false });
  } catch (error) {
    if (said.text !== text) return;
    const why = error instanceof Error ? error.message : String(error);
    Object.assign(said, { reading: false, leftOver: text.trim(), problem: `The words cannot be read now (${why}); they can be kept as a note.` });
  }
  update();
}

/** What the pure functions need to know of this exam. @returns {import('./say-words.js').World} */
export function world() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  return {
    label, quantity: quantityOf, seenWords,
    reasons: catalogue().not_seen_reasons,
    species: session.view.patient.species,
    here: noteAbout(),
    described: (about) => session.view.fields[about] || [],
    claim: (id) => {
      const structure = structureOf(id);
      return structure ? claim(structure, session.view) : { words: 'seen', seen: 'whole', normal: false, why: [] };
    },
  };
}

/** Where a note of these words belongs: to the structure they speak of, else the one on the screen. */
function noteAbout() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  return said.next?.structure || stickyNow()?.structure || session.structure;
}

/** Names a proposal among those of the same words. @param {number} place */
function keyOf(place) {
  return `${place}`;
}

/** @param {number} place @param {Answers} more */
export function answer(place, more) {
  const key = keyOf(place);
  said.answers[key] = { ...said.answers[key], ...more };
  update();
}

/** Whether nothing is asked any more about a proposal. @param {number} place */
export function isReady(place) {
  return !nextQuestion(said.proposals[place], said.answers[keyOf(place)] || {}, world());
}

/** Proposals of these words that wait for a tap and nothing else. @returns {number[]} */
export function readyPlaces() {
  return said.proposals.map((_, place) => place).filter((place) => !said.kept.includes(keyOf(place)) && isReady(place));
}

/** One tap: the entries of one proposal. @param {number} place */
export function accept(place) {
  acceptAll([place]);
}

/** One tap for several: each says itself what it writes. @param {number[]} places */
export function acceptAll(places) {
  const session = state.session;
  if (!session) return;
  const acts = [];
  const names = [];
  for (const place of places) {
    const one = said.proposals[place];
    const answers = said.answers[keyOf(place)] || {};
    const made = one.do === 'strike' ? strikeLast() : actsOf(one, answers, world(), (about) => circumstances(about));
    if (!made.length) continue;
    acts.push(...made);
    names.push(words(one, answers, world()));
    said.kept.push(keyOf(place));
  }
  if (acts.length) record(acts, names.join('; '));
  hold(said.next);
  finishWhenDone();
}

/** The circumstances on the screen belong to the structure on the screen only. @param {string} about */
function circumstances(about) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const quantity = quantityOf(about);
  const here = quantity?.structure === session.structure;
  const fields = fieldsOf(here ? session.how : {}, state.settings.machineRows);
  return quantity?.plane && !fields.plane ? { ...fields, plane: quantity.plane } : fields;
}

/** @returns {import('./record.js').Act[]} a strike of the newest reading that counts, or none */
function strikeLast() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const reading = lastReading();
  if (!reading) {
    said.problem = 'There is no reading to strike.';
    return [];
  }
  session.problem = null;
  return [{ kind: 'struck', body: { about: reading.quantity, why: 'said: strike' }, of: [reading.id] }];
}

/** The newest reading that counts, which "strike that" speaks of. */
export function lastReading() {
  const standing = state.session?.view.readings.filter((reading) => !reading.struck) || [];
  return standing[standing.length - 1] || null;
}

/** The words that were not understood, kept as they are. */
export function keepLeftOver() {
  const about = noteAbout();
  record([{ kind: 'noted', body: { about, text: said.leftOver } }], `note: ${label(about)}`);
  said.noteKept = true;
  finishWhenDone();
}

/** When all is answered the line is empty again, for the next words. */
function finishWhenDone() {
  const done = said.kept.length === said.proposals.length && (!said.leftOver || said.noteKept);
  if (done) setText('');
  else update();
}

/** The key "done": words that only name a place make it count for the next minute. */
export async function done() {
  if (said.reading) await look();
  if (!said.onlyPlace || !said.next) return;
  hold(said.next);
  setText('');
}

/** The reading is typed on the keys instead. @param {number} place */
export function typeInstead(place) {
  const one = said.proposals[place];
  const id = (one.quantity || '').replace('?', (said.answers[keyOf(place)] || {}).side || '?');
  const quantity = quantityOf(id);
  if (quantity?.structure) go(quantity.structure, { row: id });
  else updateSession({ panel: null });
}

/** Listen by what the practice allows; a second tap ends it. */
export function listen() {
  if (said.listening) {
    said.listening.stop();
    return;
  }
  const source = provider();
  if (!source) return;
  said.listening = source.start({
    words: (heard) => setText(heard),
    ended: () => { said.listening = null; update(); },
    failed: (why) => { said.problem = why; update(); },
  });
  update();
}


