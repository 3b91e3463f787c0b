/** Weights as people type and read them: kg or lb in, kg kept to the last digit, both shown. Exact on digit texts, as the core does it. */
import { NumberProblem, compare, split, trimZeros } from './number.js';

/** kg per unit, as in the core's typed reader. The pound: exactly 0.45359237 kg (international agreement of 1959). */
const KILOGRAMS = /** @type {Record<string, string>} */ ({ kg: '1', lb: '0.45359237', g: '0.001' });
export const SOURCES = ['scales today', 'record', 'owner', 'estimate'];
/** Digits behind the point that a scale shows; more than these come from another unit. */
const MOST_SHOWN = 3;
const SHOWN = 2;

/** @typedef {{value: string, typed: string, typed_unit: string}} Weight `value` in kg */

/**
 * A typed weight in kg; a unit written along wins over `unit`.
 * @param {string} text @param {string} unit "kg" or "lb" @param {{from: string, to: string} | undefined} [window] what is believed, in kg
 * @param {string} [species] for the words of a question
 * @returns {Weight}
 * @throws {NumberProblem}
 */
export function weightOf(text, unit, window, species = 'animal') {
  const { number, unit: written } = split(text);
  const source = written || unit;
  if (!(source in KILOGRAMS)) throw new NumberProblem('wrong_unit', `"${source}" is no weight: write it in kg or lb.`);
  const value = source === 'kg' ? trimZeros(number) : product(number, KILOGRAMS[source]);
  if (/^[0.]*$/.test(value)) throw new NumberProblem('weight', 'A weight of nothing? Type it again, or say that it is unknown.');
  if (window && (compare(value, window.from) < 0 || compare(value, window.to) > 0)) {
    throw new NumberProblem('weight', `${kilograms(value)} kg for a ${species}? Believed here: ${window.from} to ${window.to} kg.`);
  }
  return { value, typed: text, typed_unit: source };
}

/** What the typed text says so far, "18.5 lb = 8.39 kg", or '' where it says nothing yet. @param {string} text @param {string} unit */
export function weightEcho(text, unit) {
  try {
    const { value, typed_unit } = weightOf(text.replace(/[.,]$/, ''), unit);
    if (typed_unit === 'kg') return '';
    return `${text} ${typed_unit} = ${kilograms(value)} kg`;
  } catch (error) {
    if (error instanceof NumberProblem) return '';
    throw error;
  }
}

/** kg for the eye: as typed, or with two decimals where it was reckoned from another unit. @param {string} value */
export function kilograms(value) {
  const [whole, part = ''] = value.split('.');
  if (part.length <= MOST_SHOWN) return value;
  const digits = BigInt(whole + part.slice(0, SHOWN)) + (part[SHOWN] >= '5' ? 1n : 0n);
  const text = String(digits).padStart(SHOWN + 1, '0');
  return `${text.slice(0, -SHOWN)}.${text.slice(-SHOWN)}`;
}

/** "8.39 kg (18.5 lb)" or "34.2 kg" of what an exam or a record holds. @param {import('./types').Patient} patient */
export function weightWords(patient) {
  if (!patient.weight_kg) return 'weight unknown';
  const typed = patient.weight_typed && patient.weight_typed_unit && patient.weight_typed_unit !== 'kg';
  return `${kilograms(patient.weight_kg)} kg${typed ? ` (${patient.weight_typed} ${patient.weight_typed_unit})` : ''}`;
}

/** a x b of two decimal texts, exact, in its shortest form. @param {string} a @param {string} b */
function product(a, b) {
  const places = decimals(a) + decimals(b);
  const text = String(BigInt(a.replace('.', '')) * BigInt(b.replace('.', ''))).padStart(places + 1, '0');
  const exact = places ? `${text.slice(0, -places)}.${text.slice(-places)}` : text;
  return exact.includes('.') ? exact.replace(/\.?0+$/, '') : exact;
}

/** @param {string} number */
function decimals(number) {
  return (number.split('.')[1] || '').length;
}
