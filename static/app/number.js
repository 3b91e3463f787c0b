/**
 * The strict reader of typed numbers. It agrees with the core's `typed` rules: nothing is repaired in
 * silence, no point is inserted, no unit guessed. All arithmetic is on digit texts.
 */

/** Power of ten from a typed unit to the smallest unit of its dimension. */
const LENGTH = /** @type {Record<string, number>} */ ({ mm: 0, cm: 1, m: 3 });
const OTHER = new Set(['kg', 'g', 'lb', 'mL', 'ml', 'cm/s', 'm/s']);
const LONGEST = 12;

export class NumberProblem extends Error {
  /** @param {string} code @param {string} message */
  constructor(code, message) {
    super(message);
    this.code = code;
  }
}

/**
 * Read a typed text in the terms of `target`, the catalogue's unit.
 * @param {string} text as typed, perhaps with a unit behind it
 * @param {string} machineUnit the unit meant when none is written ("mm" or "cm")
 * @param {string} target the catalogue's unit of the quantity
 * @returns {{value: string, unit: string, typed: string, typed_unit: string}}
 * @throws {NumberProblem} with a code and one kind sentence
 */
export function readNumber(text, machineUnit, target) {
  const { number, unit } = split(text);
  const source = unit || (target in LENGTH ? machineUnit : target);
  return { value: convert(number, source, target), unit: target, typed: text, typed_unit: source };
}

/** @param {string} text @returns {{number: string, unit: string}} */
export function split(text) {
  const cleaned = text.trim().replace(/,/g, '.');
  if (!cleaned) throw new NumberProblem('empty', 'Nothing typed yet: tap the digits first.');
  const [, number, rest] = /** @type {RegExpMatchArray} */ (cleaned.match(/^([0-9.]*)(.*)$/s));
  const unit = rest.trim();
  if ((number.match(/\./g) || []).length > 1) {
    throw new NumberProblem('two_points', `"${text}" has two decimal points: which one is meant?`);
  }
  if (cleaned.startsWith('-')) throw new NumberProblem('negative', `"${text}" is below zero: a size cannot be.`);
  if (!/[0-9]/.test(number)) throw new NumberProblem('no_digits', `"${text}" holds no number: use digits, like 6.2.`);
  if (number.startsWith('.') || number.endsWith('.')) {
    throw new NumberProblem('open_point', `"${text}" begins or ends with a point: a digit is missing.`);
  }
  if (number.length > LONGEST) throw new NumberProblem('too_long', `"${text}" has too many digits.`);
  if (unit && !(unit in LENGTH) && !OTHER.has(unit)) {
    throw new NumberProblem('unknown_unit', `"${unit}" is not a unit known here: use mm or cm.`);
  }
  return { number, unit };
}

/** @param {string} number @param {string} source @param {string} target */
function convert(number, source, target) {
  if (source === target) return trimZeros(number);
  if (!(source in LENGTH) || !(target in LENGTH)) {
    throw new NumberProblem('wrong_unit', `${source} is not a unit for this value: it is kept in ${unitWords(target)}.`);
  }
  return shift(number, LENGTH[source] - LENGTH[target]);
}

/** A unit as a person reads it. @param {string} unit */
export function unitWords(unit) {
  if (unit === '1') return 'a plain number';
  return unit === '{score}' ? 'points' : unit;
}

/**
 * Move the decimal point by `places` (positive: larger number), exactly.
 * @param {string} number "0.64" @param {number} places @returns {string} "6.4"
 */
export function shift(number, places) {
  const [whole, part = ''] = number.split('.');
  let digits = whole + part;
  let point = whole.length + places;
  if (point <= 0) {
    digits = '0'.repeat(1 - point) + digits;
    point = 1;
  }
  if (point > digits.length) digits = digits.padEnd(point, '0');
  const after = digits.slice(point);
  return trimZeros(after ? `${digits.slice(0, point)}.${after}` : digits.slice(0, point));
}

/** Drop surplus leading zeros; the digits behind the point stay as given. @param {string} number */
export function trimZeros(number) {
  return number.replace(/^0+(?=\d)/, '');
}

/** Compare two decimal texts: negative, zero or positive. @param {string} a @param {string} b */
export function compare(a, b) {
  const [wholeA, partA = ''] = trimZeros(a).split('.');
  const [wholeB, partB = ''] = trimZeros(b).split('.');
  if (wholeA.length !== wholeB.length) return wholeA.length - wholeB.length;
  const length = Math.max(partA.length, partB.length);
  const left = wholeA + partA.padEnd(length, '0');
  const right = wholeB + partB.padEnd(length, '0');
  return left === right ? 0 : left < right ? -1 : 1;
}

/** The same length in mm and in cm, for the echo. @param {string} value @param {string} unit */
export function bothUnits(value, unit) {
  if (unit === 'mm') return { mm: value, cm: shift(value, -1) };
  return { mm: shift(value, 1), cm: value };
}

/**
 * Ask before keeping when a value lies outside the usual window and another reading of the same digits
 * lies inside it. The windows are the catalogue's (choices of this project, no limits); nothing is altered here.
 * @param {{value: string, unit: string, typed: string, typed_unit: string}} read
 * @param {import('./types').Quantity} quantity @param {string | null | undefined} species
 * @returns {null | {message: string, offers: {value: string, words: string}[]}}
 */
export function question(read, quantity, species) {
  const window = windowOf(quantity, species);
  if (!window || inside(read.value, window)) return null;
  const offers = [];
  for (const [places, words] of /** @type {[number, string][]} */ ([[1, 'ten times'], [-1, 'a tenth'], [-2, 'a hundredth']])) {
    const value = shift(read.value, places).replace(/(\.\d*?)0+$/, '$1').replace(/\.$/, '');
    if (inside(value, window)) offers.push({ value, words });
  }
  const unit = quantity.unit === '1' ? '' : ` ${unitWords(quantity.unit)}`;
  if (!offers.length && !outsideBelief(read.value, quantity)) return null;
  return { message: `${read.value}${unit}? Mostly ${window.from} to ${window.to}${unit} here.`, offers };
}

/** @param {import('./types').Quantity} quantity @param {string | null | undefined} species */
function windowOf(quantity, species) {
  const usual = quantity.usual && species ? quantity.usual[species] : null;
  if (usual) return usual;
  const wide = quantity.plausible;
  return wide && wide.from !== null && wide.to !== null ? { from: wide.from, to: wide.to } : null;
}

/** @param {string} value @param {{from: string, to: string}} window */
function inside(value, window) {
  return compare(value, window.from) >= 0 && compare(value, window.to) <= 0;
}

/** @param {string} value @param {import('./types').Quantity} quantity */
function outsideBelief(value, quantity) {
  const wide = quantity.plausible;
  if (!wide) return false;
  return (wide.from !== null && compare(value, wide.from) < 0) || (wide.to !== null && compare(value, wide.to) > 0);
}

/**
 * A plain number down to the tenth of a millimetre: nothing is to come, so a key more would only say "keep".
 * @param {string} typed @param {string} unit the machine's
 */
export function isWhole(typed, unit) {
  return (unit === 'cm' ? /^[0-9]{1,3}[.,][0-9]{2}$/ : /^[0-9]{1,4}[.,][0-9]$/).test(typed);
}

/**
 * A digit typed on behind a number that kept itself begins the next one, which is then a digit too long, or no more than
 * that digit. @param {string} typed the number now @param {string} before the one that kept itself, both as typed
 * @param {string} unit the machine's @param {import('./types').Quantity} quantity @param {string | null | undefined} species
 */
export function mayHoldStray(typed, before, unit, quantity, species) {
  const found = typed.match(/^([0-9]+)([.,][0-9]+)?$/);
  if (!found) return false;
  if (!found[2]) return true;
  if (found[1].length <= before.split(/[.,]/)[0].length) return false;
  // Where the usual size is not known the key was to come anyway, over a number that stands large: a length after a thickness.
  const usual = quantity.usual && species ? quantity.usual[species] : null;
  return Boolean(usual && inside(readNumber(typed.slice(1), unit, quantity.unit).value, usual));
}

/**
 * Digits moved by a step of the caliper, exact; what is no plain number stays. @param {string} typed in the machine's unit
 * @param {string} by in mm: "-1", "-0.1", "+0.1", "+1" @param {string} unit the machine's @returns {string} never below 0
 */
export function stepped(typed, by, unit) {
  const found = typed.match(/^([0-9]{1,6})(?:[.,]([0-9]{0,4}))?$/);
  if (!found) return typed;
  const step = unit === 'cm' ? shift(by.replace(/[+-]/, ''), -1) : by.replace(/[+-]/, '');
  const places = Math.max((found[2] || '').length, (step.split('.')[1] || '').length);
  const whole = (/** @type {string} */ text) => {
    const [integer, rest = ''] = text.split('.');
    return Number(integer + rest.padEnd(places, '0'));
  };
  const moved = Math.max(0, whole(`${found[1]}.${found[2] || ''}`) + (by.startsWith('-') ? -1 : 1) * whole(step));
  const digits = String(moved).padStart(places + 1, '0');
  return places ? `${digits.slice(0, -places)}.${digits.slice(-places)}` : digits;
}
