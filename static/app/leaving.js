/** What may leave the phone, and when: decided here, without storage, so that it can be tried out. */
import { localDate } from './entry.js';

const DAY_MS = 86400000;

/** @typedef {import('./types').Entry} Entry */
/** @typedef {{key: string, ids: string[]}} Group the entries of one exam, or of one planned visit */

/**
 * Whole exams (and planned visits) that are older than the days and belong to nobody on the list.
 * @param {Entry[]} entries all on this phone @param {{today: string, days: number, inHand: string | null}} now
 * @returns {Group[]}
 */
export function oldGroups(entries, { today, days, inHand }) {
  const edge = localDate(new Date(new Date(`${today}T12:00:00`).getTime() - days * DAY_MS));
  const listed = new Set(entries.filter((entry) => entry.kind === 'planned' && entry.body.date >= today).map((entry) => entry.patient));
  /** @type {Map<string, Entry[]>} */
  const groups = new Map();
  for (const entry of entries) {
    const key = entry.exam || (entry.kind === 'planned' ? entry.id : null);
    if (key) groups.set(key, [...(groups.get(key) || []), entry]);
  }
  return [...groups]
    .filter(([key, list]) => key !== inHand && !list.some((entry) => listed.has(entry.patient)) && list.every((entry) => dayOf(entry) < edge))
    .map(([key, list]) => ({ key, ids: list.map((entry) => entry.id) }));
}

/** The day that an entry counts from: its own, or that of the visit it plans. @param {Entry} entry */
function dayOf(entry) {
  const own = String(entry.at).slice(0, 10);
  return entry.kind === 'planned' && entry.body.date > own ? String(entry.body.date) : own;
}

/**
 * Whether nothing would be lost: nothing waits, and the practice's receipt names every entry of this phone.
 * @param {{pending: number, device: string, seq: number, receipt: import('./types').Receipt | null}} has
 */
export function covered({ pending, device, seq, receipt }) {
  if (pending > 0) return false;
  if (seq === 0) return true;
  return receipt !== null && receipt.device === device && receipt.through >= seq && receipt.held >= seq;
}
