/**
 * From a proposal of the strict reader and a person's answers to the next question, or to the entries that a tap makes.
 * Pure functions: the tables and the exam come in as `world`. Nothing is filled in that was not said or answered.
 */
import { bothUnits, question, shift, unitWords } from './number.js';

/**
 * @typedef {object} Proposal as the core gives it (core/phrase.py)
 * @property {string} do
 * @property {string[]} asks
 * @property {string} said
 * @property {string} [quantity]
 * @property {string[]} [values]
 * @property {string[]} [heard]
 * @property {string[][]} [tenfold]
 * @property {string[]} [typed]
 * @property {(string | null)[]} [typed_units]
 * @property {string} [unit]
 * @property {string} [structure]
 * @property {string | null} [part]
 * @property {string} [seen]
 * @property {string | string[] | null} [why]
 * @property {boolean} [normal]
 * @property {string} [finding]
 * @property {string[]} [dimensions]
 * @property {string[]} [offers]
 * @property {string | null} [text]
 * @property {{list: string, title: string, words: string[]}[]} [described]
 */

/** @typedef {{structure?: string, side?: string, unit?: string, value?: string[], sure?: boolean, lesion?: string, why?: string[]}} Answers */
/** @typedef {{words: string, set: Answers, act?: string}} Choice */
/** @typedef {import('./record.js').Act} Act */

/**
 * @typedef {object} World
 * @property {(id: string) => string} label
 * @property {(id: string) => import('./types').Quantity | null} quantity
 * @property {(seen: string) => string} seenWords
 * @property {string[]} reasons
 * @property {string | null | undefined} species
 * @property {string} here the structure on the screen
 * @property {(structure: string) => {words: string, seen: string, normal: boolean, why: string[]}} claim what one tap may claim
 * @property {(about: string) => string[]} described words of a list that stand already
 */

/** The id with its open side filled in. @param {string} id @param {Answers} answers */
function sided(id, answers) {
  return answers.side ? id.replace('?', answers.side) : id;
}

/** Words for an id whose side is still open: without one. @param {string} id @param {World} world */
export function placeWords(id, world) {
  if (!id.includes('?')) return world.label(id);
  const known = world.label(id.replace('?', 'left'));
  return /^LEFT /.test(known) ? known.replace(/^LEFT /, '') : id.split('.')[0];
}

/** The quantity or structure as far as it is answered. @param {Proposal} one @param {Answers} answers */
export function target(one, answers) {
  return sided(answers.structure || one.quantity || one.structure || '', answers);
}

/** Values and unit after the answers about unit and value. @param {Proposal} one @param {Answers} answers */
export function valuesOf(one, answers) {
  if (answers.value) return answers.value;
  const given = one.do === 'finding' ? one.dimensions || [] : one.values || [];
  if (!answers.unit || !given.length) return given;
  return (one.typed || []).map((text) => shift(text, answers.unit === 'cm' && one.unit === 'mm' ? 1 : 0));
}

/** A length with both units, anything else with its own. @param {string} value @param {string} unit */
export function sizeWords(value, unit) {
  if (unit === 'mm') return `${value} mm (${bothUnits(value, 'mm').cm} cm)`;
  return unit === '1' ? value : `${value} ${unitWords(unit)}`;
}

/** What is written when the button is tapped, said in full. @param {Proposal} one @param {Answers} answers @param {World} world */
export function words(one, answers, world) {
  const open = one.asks.includes('unit') && !answers.unit && !answers.value;
  const values = open ? (one.typed || []).map((text) => `${text}, unit not said`) : valuesOf(one, answers).map((value) => sizeWords(value, one.unit || 'mm'));
  if (one.do === 'note') return `note: ${one.text}`;
  if (one.do === 'strike') return 'strike the last reading';
  const place = placeWords(target(one, answers), world);
  if (one.do === 'read') return `${place}${answers.lesion ? ` (${answers.lesion.replace('#', ' ')})` : ''}: ${values.join(', ') || 'which value?'}`;
  if (one.do === 'normal') return `${place}: ${target(one, answers).includes('?') ? 'seen, normal' : world.claim(target(one, answers)).words}`;
  if (one.do === 'describe') return `${place}: ${(one.described || []).map((row) => `${row.title} ${row.words.join(', ')}`).join('; ')}`;
  const part = one.part ? `, ${world.label(`${withSide(target(one, answers))}.${one.part}`).split(', ').pop()}` : '';
  if (one.do === 'finding') return `${place}${part}: ${findingWords(one)}${values.length ? ` ${values.join(' x ')}` : ''}`;
  const why = reasonsOf(one, answers);
  return `${place}${part}: ${world.seenWords(one.seen || '')}${one.normal ? ', normal' : ''}${why.length ? ` (${why.join(', ')})` : ''}`;
}

/** @param {string} id */
function withSide(id) {
  return id.replace('?', 'left');
}

/** @param {Proposal} one */
function findingWords(one) {
  const kind = one.finding === 'none' ? 'NONE' : (one.finding || '').replace(/_/g, ' ');
  return one.text ? `${kind} ("${one.text}")` : kind;
}

/** @param {Proposal} one @param {Answers} answers @returns {string[]} */
function reasonsOf(one, answers) {
  if (answers.why) return answers.why;
  if (!one.why) return [];
  return Array.isArray(one.why) ? one.why : [one.why];
}

/**
 * The next thing that a person must say, with what may be answered, or null when all is said.
 * @param {Proposal} one @param {Answers} answers @param {World} world @returns {{name: string, words: string, choices: Choice[]} | null}
 */
export function nextQuestion(one, answers, world) {
  if (one.asks.includes('structure') && !answers.structure && !answers.lesion) return structureQuestion(one, world);
  if (target(one, answers).includes('?')) return sideQuestion();
  if (one.asks.includes('side') && !answers.side) return sideQuestion();
  if (one.asks.includes('unit') && !answers.unit && !answers.value) return unitQuestion(one);
  const asked = valueQuestion(one, answers, world);
  if (asked) return asked;
  const silent = one.do === 'seen' && ['not_seen', 'partly', 'not_examined'].includes(one.seen || '');
  if (!silent || reasonsOf(one, answers).length) return null;
  return { name: 'reason', words: 'because of?', choices: world.reasons.map((reason) => ({ words: reason, set: { why: [reason] } })) };
}

/** @param {Proposal} one @param {World} world */
function structureQuestion(one, world) {
  if (one.quantity?.startsWith('lesion.')) {
    const numbers = [1, 2, 3, 4];
    return { name: 'structure', words: `which lesion of ${world.label(world.here)}?`, choices: numbers.map((number) => ({ words: `lesion ${number}`, set: { lesion: `${world.here}#${number}` } })) };
  }
  const known = one.quantity || one.structure || '';
  const offers = one.offers?.length ? one.offers : known === '?' ? [world.here] : [known];
  return { name: 'structure', words: 'is this meant?', choices: offers.map((id) => ({ words: placeWords(id, world), set: { structure: id } })) };
}

function sideQuestion() {
  return { name: 'side', words: 'which side?', choices: [{ words: 'LEFT', set: { side: 'left' } }, { words: 'RIGHT', set: { side: 'right' } }] };
}

/** @param {Proposal} one */
function unitQuestion(one) {
  const units = one.unit === 'mm' ? ['mm', 'cm'] : [one.unit || ''];
  const choices = units.map((unit) => ({ words: (one.typed || []).map((text) => sizeWords(shift(text, unit === 'cm' ? 1 : 0), one.unit || 'mm')).join(', '), set: { unit } }));
  return { name: 'unit', words: 'no unit was said: which is meant?', choices };
}

/** @param {Proposal} one @param {Answers} answers @param {World} world */
function valueQuestion(one, answers, world) {
  const values = valuesOf(one, answers);
  const unit = one.unit || 'mm';
  const named = (/** @type {string[]} */ list) => list.map((value) => sizeWords(value, unit)).join(', ');
  const typing = one.do === 'read' ? [{ words: 'type it', set: {}, act: 'type' }] : [];
  if (!values.length && (one.asks.includes('value') && !answers.value)) {
    const heard = [...new Set(one.heard || [])].map((value) => ({ words: named([value]), set: { value: [value] } }));
    return { name: 'value', words: 'which value is meant?', choices: [...heard, ...typing] };
  }
  if (answers.sure) return null;
  const doubt = one.do === 'read' ? doubtAbout(values, unit, target(one, answers), world) : null;
  const asked = one.asks.includes('value') && !answers.value && !answers.unit;
  if (!doubt && !asked) return null;
  const others = (one.tenfold || []).filter((list) => list.join() !== values.join());
  return sureQuestion(named(values), others.map((list) => ({ words: named(list), set: { value: list, sure: true } })), typing, doubt?.message);
}

/** The keypad's own question about a value, for the first that has one. */
/** @param {string[]} values @param {string} unit @param {string} id @param {World} world */
function doubtAbout(values, unit, id, world) {
  const quantity = world.quantity(id);
  if (!quantity) return null;
  for (const value of values) {
    const asking = question({ value, unit, typed: value, typed_unit: unit }, quantity, world.species);
    if (asking) return asking;
  }
  return null;
}

/** @param {string} said @param {Choice[]} others @param {Choice[]} typing @param {string} [why] */
function sureQuestion(said, others, typing, why) {
  return { name: 'value', words: why || 'is this the value?', choices: [{ words: `yes, ${said}`, set: { sure: true } }, ...others, ...typing] };
}

/**
 * The entries that a tap makes, once nothing is asked any more.
 * @param {Proposal} one @param {Answers} answers @param {World} world @param {(quantity: string) => Record<string, any>} how circumstances of a reading
 * @returns {Act[]}
 */
export function actsOf(one, answers, world, how) {
  const about = target(one, answers);
  const { said } = one;
  if (one.do === 'read') return valuesOf(one, answers).map((value, place) => ({ kind: 'read', body: { about, ...numberOf(one, answers, value, place), said, ...how(about), ...(answers.lesion ? { lesion: answers.lesion } : {}) } }));
  if (one.do === 'note') return [{ kind: 'noted', body: { about: world.here, text: one.text } }];
  if (one.do === 'finding') return [{ kind: 'found', body: foundBody(one, answers, about) }];
  if (one.do === 'describe') return (one.described || []).map((row) => describeAct(`${about}.${row.list}`, row.words, said, world));
  if (one.do === 'normal') {
    const claimed = world.claim(about);
    return [seen(about, claimed.seen, claimed.why, claimed.normal, said)];
  }
  return [seen(one.part ? `${about}.${one.part}` : about, one.seen || '', reasonsOf(one, answers), one.normal === true, said)];
}

/** The value and the digits as they were said; where a person chose another value, that is what was typed. */
/** @param {Proposal} one @param {Answers} answers @param {string} value @param {number} place */
function numberOf(one, answers, value, place) {
  const unit = one.unit || 'mm';
  if (answers.value) return { value, unit, typed: value, typed_unit: unit };
  return { value, unit, typed: one.typed?.[place] ?? value, typed_unit: answers.unit || one.typed_units?.[place] || unit };
}

/** @param {Proposal} one @param {Answers} answers @param {string} about */
function foundBody(one, answers, about) {
  const axes = valuesOf(one, answers);
  /** @type {Record<string, any>} */
  const body = { about, finding: one.finding, said: one.said };
  if (one.part) body.part = one.part;
  if (axes.length) Object.assign(body, { dimensions: axes, unit: 'mm' });
  if (one.text) body.text = one.text;
  return body;
}

/** Words join those that stand in the list; none is taken out by being unsaid. @param {string} about @param {string[]} words @param {string} said @param {World} world @returns {Act} */
function describeAct(about, words, said, world) {
  return { kind: 'set', slot: about, body: { about, value: [...new Set([...world.described(about), ...words])], said } };
}

/** @param {string} about @param {string} how @param {string[]} why @param {boolean} normal @param {string} said @returns {Act} */
function seen(about, how, why, normal, said) {
  return { kind: 'seen', slot: `seen:${about}`, body: { about, seen: how, why, normal, said } };
}
