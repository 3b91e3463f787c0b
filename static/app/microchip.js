/** A chip number that was read at the table against the record: said plainly, never decided. Pure functions. */

const ENOUGH = 4;

/** @typedef {{says: 'match' | 'mismatch' | 'no record' | 'short', words: string}} ChipSays */

/** The digits of a number as it stands on a reader or in a record ("985 112 00123-4567"). @param {unknown} text */
export function digitsOf(text) {
  return String(text ?? '').replace(/[^0-9]/g, '');
}

/**
 * @param {string} read digits from the reader: the whole number, or its last ones
 * @param {string | null | undefined} record the number in the animal's record
 * @param {string} name of the animal @returns {ChipSays}
 */
export function compareChip(read, record, name) {
  const typed = digitsOf(read);
  if (typed.length < ENOUGH) return { says: 'short', words: `Type the last ${ENOUGH} digits, or the whole number.` };
  const known = digitsOf(record);
  if (known.length < ENOUGH) return { says: 'no record', words: `No chip number in the record of ${name}: nothing to compare with.` };
  if (fits(typed, known)) {
    const how = typed.length === known.length ? 'the whole number' : `the last ${Math.min(typed.length, known.length)} digits`;
    return { says: 'match', words: `Chip matches the record of ${name}: ${how}.` };
  }
  return { says: 'mismatch', words: `Chip does NOT match the record of ${name}: read ${typed}, the record ends in ${known.slice(-ENOUGH)}.` };
}

/** Whether the shorter number is the end of the longer. @param {string} typed @param {string} known */
function fits(typed, known) {
  return typed.length > known.length ? typed.endsWith(known) : known.endsWith(typed);
}

/**
 * Others whose record holds this number. @template {{patient: import('./types').Patient}} T
 * @param {string} read @param {T[]} others @returns {T[]}
 */
export function withChip(read, others) {
  const typed = digitsOf(read);
  if (typed.length < ENOUGH) return [];
  return others.filter((one) => digitsOf(one.patient.microchip).length >= ENOUGH && fits(typed, digitsOf(one.patient.microchip)));
}

/** What is kept of a chip number, in words. @param {string} says */
export function chipWords(says) {
  if (says === 'match') return 'matches the record';
  return says === 'mismatch' ? 'does NOT match the record' : 'read, none in the record';
}
