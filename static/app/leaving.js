/** What may leave the phone, and when: decided here, without storage, so that it can be tried out. */
import { localDate } from './entry.js';
import { viewOf } from './exam-view.js';
import { ofAnAnimal } from './pairs.js';

const DAY_MS = 86400000;

/** @typedef {import('./types').Entry} Entry */
/** @typedef {{key: string, ids: string[]}} Group the entries of one exam, of one planned visit, or of one animal's record */

/**
 * Whole exams (and planned visits) that are older than the days and belong to nobody on the list; an animal's record goes
 * with the last of its exams and visits. An exam that was begun on this phone and is neither finished nor signed stays
 * until it is: whoever began it looks for it here.
 * @param {Entry[]} entries all on this phone
 * @param {{today: string, days: number, inHand: string | null, names?: string[], sent?: Record<string, string>}} now
 *   `names`: the devices that this phone is or was; `sent`: the practice's day on which a group was first seen to be all
 *   there: a clock that was wrong when it was written must not make it older than that
 * @returns {Group[]}
 */
export function oldGroups(entries, { today, days, inHand, names = [], sent }) {
  const edge = edgeOf(today, days);
  const listed = new Set(entries.filter((entry) => comes(entry, today)).map((entry) => entry.patient));
  const old = [...grouped(entries)].filter(([key, list]) =>
    key !== inHand && (!sent || (sent[key] || today) < edge) && !list.some((entry) => listed.has(entry.patient)) && list.every((entry) => dayOf(entry) < edge) && !isUnfinished(list, names));
  const leaving = new Set(old.flatMap(([key, list]) => (isRecord(key) ? [] : list)));
  const stays = new Set(entries.filter((entry) => !recordOf(entry) && !leaving.has(entry)).map((entry) => entry.patient));
  return old
    .filter(([key, list]) => !isRecord(key) || !list.some((entry) => stays.has(entry.patient)))
    .map(([key, list]) => ({ key, ids: list.map((entry) => entry.id) }));
}

/** @param {Entry[]} entries @returns {Map<string, Entry[]>} by exam, planned visit, or animal's record */
function grouped(entries) {
  const groups = new Map();
  for (const entry of entries) {
    const key = entry.exam || (entry.kind === 'planned' ? entry.id : recordOf(entry));
    if (key) groups.set(key, [...(groups.get(key) || []), entry]);
  }
  return groups;
}

/** @param {string} today @param {number} days */
function edgeOf(today, days) {
  return localDate(new Date(new Date(`${today}T12:00:00`).getTime() - days * DAY_MS));
}

/**
 * Since which of the practice's days each group is all there: those that wait in part, or left, are not in it.
 * @param {Entry[]} entries @param {Set<string>} waiting ids @param {Record<string, string>} before @param {string} today
 * @returns {Record<string, string>}
 */
export function sentSince(entries, waiting, before, today) {
  const there = [...grouped(entries)].filter(([, list]) => !list.some((entry) => waiting.has(entry.id)));
  return Object.fromEntries(there.map(([key]) => [key, before[key] || today]));
}

/** A visit planned for this day or later, or put off to such a day. @param {Entry} entry @param {string} today */
function comes(entry, today) {
  if (entry.kind === 'planned') return entry.body.date >= today;
  return entry.kind === 'set' && entry.body.about === 'visit.date' && String(entry.body.value) >= today;
}

const RECORD = 'record of ';

/** What belongs to an animal and to no exam or visit. @param {Entry} entry @returns {string | null} */
function recordOf(entry) {
  return !entry.exam && entry.kind !== 'planned' && entry.patient ? `${RECORD}${entry.patient}` : null;
}

/** @param {string} key */
function isRecord(key) {
  return key.startsWith(RECORD);
}

/** An exam of an animal, begun on this phone, that nobody finished. @param {Entry[]} list @param {string[]} names */
function isUnfinished(list, names) {
  const opened = list.find((entry) => entry.kind === 'opened');
  if (!opened || !ofAnAnimal(opened) || !names.includes(opened.device)) return false;
  const view = viewOf(list);
  return view !== null && !view.closed && !view.signed;
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
