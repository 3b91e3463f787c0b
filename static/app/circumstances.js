/** How a reading was taken, in words, and what stays for the next one. Pure functions; nothing here judges a value. */

/** @typedef {Record<string, string>} How the optional fields of a reading */

/** These hold for the whole exam until changed; the others only as long as the structure stays on the screen. */
const FOR_THE_EXAM = ['recumbency', 'depth_mm'];
const TITLES = /** @type {Record<string, string>} */ ({ true_long: 'true long axis', unsure: 'cut unsure', partly: 'partly seen', whole: 'seen whole' });
const ORDER = ['image', 'cut', 'acquired', 'view', 'plane', 'distance', 'recumbency', 'window', 'depth_mm'];
/** These belong to one reading alone: the next one is of another picture until it is said again. */
const FOR_ONE_READING = ['image'];
const PLACES = 2;

/** What goes along to another structure. @param {How} how @returns {How} */
export function carried(how) {
  return Object.fromEntries(Object.entries(how).filter(([key]) => FOR_THE_EXAM.includes(key)));
}

/** What stays for the next reading of the same structure. @param {How} how @returns {How} */
export function kept(how) {
  return Object.fromEntries(Object.entries(how).filter(([key]) => !FOR_ONE_READING.includes(key)));
}

/** The fields of a reading: depth goes with the rows of the machine's picture. @param {How} how @param {string | null} rows @returns {How} */
export function fieldsOf(how, rows) {
  return how.depth_mm && rows ? { ...how, rows } : { ...how };
}

/**
 * @param {How} how @param {(id: string) => string} windowLabel
 * @returns {string[]} one short wording per field, the ones that change a value's meaning first
 */
export function howWords(how, windowLabel) {
  return ORDER.filter((key) => how[key]).map((key) => wordsOf(key, how[key], windowLabel));
}

/** @param {string} key @param {string} value @param {(id: string) => string} windowLabel */
function wordsOf(key, value, windowLabel) {
  if (key === 'image') return `image ${value}`;
  if (key === 'distance') return `${value} away`;
  if (key === 'depth_mm') return `depth ${value} mm`;
  if (key === 'window') return windowLabel(value);
  return TITLES[value] || value.replace(/_/g, ' ');
}

/** "one display pixel is 0.5 mm at this depth", or null where one of the two is not known. @param {string | undefined} depth @param {string | null} rows */
export function pixelWords(depth, rows) {
  const pitch = depth && rows ? quotient(depth, rows) : null;
  return pitch ? `one display pixel is ${pitch} mm at this depth` : null;
}

/** a / b of two decimal texts, rounded half up to two places without float; null for a divisor of nothing. @param {string} a @param {string} b */
export function quotient(a, b) {
  const places = Math.max(decimals(a), decimals(b));
  const below = digits(b, places);
  if (below === 0n) return null;
  const scaled = (digits(a, places) * 10n ** BigInt(PLACES) * 2n + below) / (2n * below);
  const text = String(scaled).padStart(PLACES + 1, '0');
  return `${text.slice(0, -PLACES)}.${text.slice(-PLACES)}`.replace(/\.?0+$/, '');
}

/** @param {string} number */
function decimals(number) {
  return (number.split('.')[1] || '').length;
}

/** @param {string} number @param {number} places */
function digits(number, places) {
  const [whole, part = ''] = number.split('.');
  return BigInt(whole + part.padEnd(places, '0'));
}
