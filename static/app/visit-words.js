/** What was changed about a visit since it was planned, and where two desks disagree, in words. Pure functions. */
import { dayWords } from './dates.js';

/** @typedef {import('./types').Entry} Entry */

const FIELDS = /** @type {Record<string, string>} */ ({ time: 'time', date: 'day', place: 'place', sonographer: 'person', order: 'order' });
const BEFORE = /** @type {Record<string, (before: string) => string>} */ ({
  date: (before) => `was planned for ${dayWords(before)}`, time: (before) => `was ${before}`, place: (before) => `place was ${before}`, sonographer: (before) => `was with ${before}`,
});
const TOLD = ['date', 'time', 'place', 'sonographer'];

/** "was 09:30", "was planned for 2026-11-24"; '' where nothing a hand must know was changed. @param {import('./day.js').Visit} visit @param {Entry | undefined} planned @param {string} date of the list */
export function changedWords(visit, planned, date) {
  if (!planned) return '';
  const now = /** @type {Record<string, any>} */ (visit);
  const words = [];
  for (const field of TOLD) {
    const before = planned.body[field] ?? null;
    if (field === 'date' ? before === date || !visit.dates.includes(date) : before === (now[field] ?? null)) continue;
    words.push(before ? BEFORE[field](before) : `${FIELDS[field]} is new`);
  }
  return words.join(', ');
}

/** "two answers for time: 09:30 (IF) or 10:00 (RD)". @param {import('./day.js').Fork[]} forks @returns {string[]} */
export function forkWords(forks) {
  return forks.map(({ slot, values }) => {
    const name = slot.split('.').slice(1).join(' ').replace(/_/g, ' ');
    return `two answers for ${FIELDS[name] || name}: ${values.map((one) => `${valueWords(one.value)} (${one.author})`).join(' or ')}`;
  });
}

/** @param {any} value @returns {string} */
export function valueWords(value) {
  if (value === true) return 'yes';
  if (value === false) return 'no';
  if (value === null || value === undefined || value === '') return 'nothing';
  if (Array.isArray(value)) return value.map(valueWords).join(', ');
  return typeof value === 'object' ? valueWords(value.text ?? Object.values(value)) : String(value);
}
