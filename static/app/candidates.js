/** Records of today's list that a walk-in may be: shown with why, taken only by a tap. Pure functions. */
import { withChip } from './microchip.js';

/** @typedef {import('./list-data.js').Item} Item */
/** @typedef {{item: Item, why: string}} Likely */

const MOST = 2;
/** Below this length one other letter makes another name. */
const LONG_ENOUGH = 4;

/**
 * @param {{name: string, species: string | null | undefined, chip: string}} said of the walk-in so far
 * @param {Item[]} items of the list @returns {Likely[]} the surest first
 */
export function likely(said, items) {
  const animals = items.filter((item) => item.visit);
  const byChip = withChip(said.chip, animals);
  const found = byChip.map((item) => ({ item, why: 'the chip number' }));
  const name = plain(said.name);
  for (const grade of ['same', 'alike']) {
    for (const item of animals) {
      if (byChip.includes(item) || (said.species && item.patient.species && said.species !== item.patient.species)) continue;
      if (name && nearness(name, plain(item.patient.name)) === grade) {
        found.push({ item, why: `${grade === 'same' ? 'the same name' : 'a name alike'}${said.species && item.patient.species ? ', the same species' : ''}` });
      }
    }
  }
  return found.slice(0, MOST);
}

/** @param {string | null | undefined} name */
function plain(name) {
  return String(name || '').toLowerCase().replace(/[^\p{L}\p{N}]/gu, '');
}

/** @param {string} one @param {string} other @returns {'same' | 'alike' | null} */
function nearness(one, other) {
  if (!other) return null;
  if (one === other) return 'same';
  if (one.length < LONG_ENOUGH || other.length < LONG_ENOUGH) return null;
  return other.startsWith(one) || one.startsWith(other) || oneApart(one, other) ? 'alike' : null;
}

/** One letter more, less or other. @param {string} one @param {string} other */
function oneApart(one, other) {
  const [short, long] = one.length <= other.length ? [one, other] : [other, one];
  if (long.length - short.length > 1) return false;
  let place = 0;
  while (place < short.length && short[place] === long[place]) place += 1;
  const rest = short.length === long.length ? short.slice(place + 1) : short.slice(place);
  return rest === long.slice(place + 1);
}
