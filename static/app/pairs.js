/** Pairs of readings of a measuring twice: which there are, and where the next reading belongs. Pure functions. */

/** @typedef {import('./types').Entry} Entry */
/** @typedef {{pair: number, readings: Entry[]}} Pair */

const READINGS = 2;

/** Whether an opening belongs to an animal: a measuring twice stands on no list. @param {Entry} opened */
export function ofAnAnimal(opened) {
  return !opened.body.purpose;
}

/** Pairs of readings that were not struck, in order. @param {Entry[]} entries @returns {Pair[]} */
export function pairsOf(entries) {
  const struck = new Set(entries.filter((entry) => entry.kind === 'struck').flatMap((entry) => entry.of));
  /** @type {Map<number, Pair>} */
  const pairs = new Map();
  for (const entry of entries) {
    if (entry.kind !== 'read' || struck.has(entry.id)) continue;
    const { pair } = entry.body;
    /** @type {Pair} */
    const known = pairs.get(pair) || { pair, readings: [] };
    known.readings.push(entry);
    pairs.set(pair, known);
  }
  return [...pairs.values()].sort((a, b) => a.pair - b.pair);
}

/** Where the next reading belongs. @param {Pair[]} pairs @returns {{pair: number, reading: number}} */
export function nextPlace(pairs) {
  const open = pairs.find((one) => one.readings.length < READINGS);
  if (open) return { pair: open.pair, reading: open.readings.length + 1 };
  return { pair: Math.max(0, ...pairs.map((one) => one.pair)) + 1, reading: 1 };
}

/** Both sides of a pair of organs teach the same spread. @param {string} quantity */
export function patternOf(quantity) {
  return quantity.replace('.left.', '.*.').replace('.right.', '.*.');
}

/** A number with four places shown with two, half up, by its digits. @param {string} text */
export function twoPlaces(text) {
  const [whole, part = ''] = text.split('.');
  const digits = BigInt(whole + part.padEnd(4, '0').slice(0, 4));
  const rounded = String((digits + 50n) / 100n).padStart(3, '0');
  return `${rounded.slice(0, -2)}.${rounded.slice(-2)}`;
}
