/**
 * Animals and visits as the practice's desks wrote them, folded by the rule code: the one place that reads changes of
 * the day, merged records and forks. Where the rules do not run, the list stands as it was planned, and says so.
 */
import { ask } from './engine.js';
import { keepUnlessLocked, readDraft } from './in-hand.js';
import { looseEntries } from './journal.js';
import { rulesHash } from './tables.js';

/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./types').Patient} Patient */
/** @typedef {{slot: string, values: {id: string, value: any, author: string, at: string}[]}} Fork */
/** @typedef {{id: string, patient: string, record: string, date: string, dates: string[], time: string | null, order: number | null, place: string | null, sonographer: string | null, question: any, history: string | null, medication: string | null, urgency: string | null, context: any, cancelled: boolean, age_months: number | null, forks: Fork[]}} Visit */
/** @typedef {Record<string, any> & {merged: string[], merged_into: string | null, forks: Fork[]}} AnimalRecord */
/** @typedef {{animals: Record<string, AnimalRecord>, visits: Visit[], planned: Map<string, Entry>, asPlanned: boolean}} Day `asPlanned`: changes are not in it */

/** Facts that an exam takes over from a record. */
const FACTS = [
  'name', 'species', 'breed', 'sex', 'neutered', 'operation', 'birth_date', 'age_months', 'weight_kg', 'weight_source', 'weight_date',
  'ideal_weight_kg', 'body_condition', 'microchip',
];
const PATIENCE_MS = 6000;

/** Where the newest answer lies for the next start, sealed where there is a PIN: then the list need not wait for the rules. */
const KEPT = 'day';

/** The newest answer, and of which entries by which rules it was made. @type {{key: string, answer: any} | null} */
let kept = null;

/** @param {() => void} late called when the rules answer after the list had to be shown without them @returns {Promise<Day>} */
export async function readDay(late) {
  const loose = await looseEntries();
  // A first start: where nothing has come yet there is nothing to fold, and the screen need not wait for the rules.
  if (!loose.length) return { animals: {}, visits: [], planned: new Map(), asPlanned: false };
  const planned = new Map(loose.filter((entry) => entry.kind === 'planned').map((entry) => [entry.id, entry]));
  const answer = await folded(loose, late);
  if (answer) return { animals: answer.animals, visits: answer.visits, planned, asPlanned: false };
  return { animals: {}, visits: [...planned.values()].map(snapshot), planned, asPlanned: true };
}

/** @param {Entry[]} loose @param {() => void} late @returns {Promise<any>} null when the rules do not answer (yet) */
async function folded(loose, late) {
  const key = [rulesHash(), ...loose.map((entry) => entry.id).sort()].join();
  kept ||= await readDraft(KEPT);
  if (kept?.key === key) return kept.answer;
  let waited = false;
  const asked = ask({ do: 'day', entries: loose }).then((answer) => {
    kept = { key, answer };
    if (waited) late();
    // Where the storage refuses it, or the phone locks meanwhile, the next start waits for the rules: nothing is lost.
    keepUnlessLocked(KEPT, kept).catch(() => undefined);
    return answer;
  }, noRules);
  const answer = await Promise.race([asked, patience()]);
  waited = answer === null;
  return answer;
}

/** The engine's own words stand on the screens that need a judgement. */
function noRules() {
  return null;
}

/** @returns {Promise<null>} */
function patience() {
  return new Promise((resolve) => setTimeout(() => resolve(null), PATIENCE_MS));
}

/** @param {Entry} entry @returns {Visit} */
function snapshot(entry) {
  const { body } = entry;
  const patient = String(entry.patient);
  return {
    id: entry.id, patient, record: patient, date: String(body.date), dates: [String(body.date)], time: body.time ?? null, order: body.order ?? null,
    place: body.place ?? null, sonographer: body.sonographer ?? null, question: body.question, history: body.history ?? null, medication: body.medication ?? null,
    urgency: body.urgency ?? null, context: body.context, cancelled: false, age_months: body.patient?.age_months ?? null, forks: [],
  };
}

/** The animal of a visit as an exam takes it over. @param {Day} day @param {Visit} visit @returns {Patient} */
export function patientOf(day, visit) {
  const snapshotted = day.planned.get(visit.id)?.body.patient || {};
  const facts = factsOf(day.animals[visit.patient] || snapshotted);
  return { ...facts, age_months: visit.age_months ?? facts.age_months ?? null };
}

/** @param {Record<string, any>} record @returns {Patient} */
export function factsOf(record) {
  const facts = Object.fromEntries(FACTS.filter((name) => record[name] !== null && record[name] !== undefined).map((name) => [name, record[name]]));
  return { ...facts, name: record.shown || record.name || null };
}

/** All records of one animal: those that were merged are read together. @param {Day | null} day @param {string} patient @returns {string[]} */
export function recordsOf(day, patient) {
  const standing = day?.animals[patient]?.merged_into || patient;
  return [...new Set([standing, ...(day?.animals[standing]?.merged || []), patient])];
}
