/**
 * British or American, as the core's spelling.py does it: whole words of this project's own texts, at the last step.
 * What a person typed, ids and citations never come through here. Pure functions.
 */

const WORD = /[A-Za-z\u0080-\uffff]+/g;
/** Fields of the tables that hold words of this project; every other field is an id, a figure or a citation. */
const WORDED = new Set(['label', 'how', 'hints', 'words', 'note', 'population', 'statistic', 'rule', 'adrenal_mass_caution']);
const UNTOUCHED = new Set(['sources', 'source']);

/** @param {string} text @param {Record<string, string> | null} words British to American, or null for British */
export function spelled(text, words) {
  if (!words) return text;
  return text.replace(WORD, (piece) => {
    const found = Object.hasOwn(words, piece.toLowerCase()) ? words[piece.toLowerCase()] : null;
    return found ? asWritten(piece, found) : piece;
  });
}

/** @param {string} piece @param {string} found */
function asWritten(piece, found) {
  if (piece === piece.toUpperCase() && piece.length > 1) return found.toUpperCase();
  return piece[0] === piece[0].toUpperCase() ? found[0].toUpperCase() + found.slice(1) : found;
}

/** A table with its own words turned; the given one stays as it is. @param {any} value @param {Record<string, string> | null} words @param {boolean} [worded] @returns {any} */
export function turned(value, words, worded = false) {
  if (!words) return value;
  if (Array.isArray(value)) return value.map((item) => turned(item, words, worded));
  if (value && typeof value === 'object') {
    return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, UNTOUCHED.has(key) ? item : turned(item, words, WORDED.has(key))]));
  }
  return worded && typeof value === 'string' ? spelled(value, words) : value;
}
