/** The tables that the screen needs (labels, order, closed lists), from the same package as the rule code. */
import { spelled, turned } from './spelling.js';

/** @typedef {import('./types').Catalogue} Catalogue */

/** @typedef {{id: string, label: string, how: string}} Window */

/** @typedef {{adrenal: any, vessel: Record<string, any>, finding_ids: string[], finding_first: Record<string, string[]>, classes: Record<string, string>,
 *   organs: Record<string, {id: string, label: string, words: string[]}[]>, sketch: Record<string, {rows: string[], columns: string[], side: string}>}} Descriptors */
/** @typedef {{procedures: {id: string, label: string}[], checks: {id: string, label: string}[], answers: string[], consent_how: string[], not_done: string[]}} Procedures */
/** @typedef {{catalogue: Catalogue, descriptors: Descriptors, windows: Record<string, {windows: Window[]}>, procedures: Procedures}} Worded */

/** @type {(Worded & {published: Worded, american: Record<string, string>, hash: string}) | null} */
let loaded = null;
/** Words of the spelling in use, or null for the one that the tables are written in. @type {Record<string, string> | null} */
let words = null;
/** @type {Map<string, import('./types').Structure>} */
const structures = new Map();
/** @type {Map<string, import('./types').Quantity>} */
const quantities = new Map();

/** @throws {Error} when the package is not there */
export async function loadTables() {
  const answer = await fetch(GELSIDE_TABLES);
  if (!answer.ok) throw new Error(`The tables did not load (${answer.status}).`);
  const rules = await answer.json();
  const published = {
    catalogue: JSON.parse(rules.tables.catalogue),
    descriptors: JSON.parse(rules.tables.descriptors),
    windows: JSON.parse(rules.tables.windows).structures,
    procedures: JSON.parse(rules.tables.procedures),
  };
  loaded = { ...published, published, american: JSON.parse(rules.tables.spelling).words, hash: rules.hash };
  index(loaded.catalogue);
}

/** @param {Catalogue} catalogue */
function index({ structures: ofBody, quantities: ofThem }) {
  for (const structure of ofBody) structures.set(structure.id, structure);
  for (const quantity of ofThem) quantities.set(quantity.id, quantity);
}

/** The practice's spelling of the tables' own words, from now on. @param {string | undefined} spelling "british" (also when unknown) or "american" */
export function useSpelling(spelling) {
  const wanted = spelling === 'american' ? tables().american : null;
  if (!loaded || wanted === words) return;
  words = wanted;
  Object.assign(loaded, turned(loaded.published, words));
  index(loaded.catalogue);
  arrange();
}

/** @type {string[]} the order in use of whoever scans */
let order = [];

/** A person's own order of structures from now on; those that it does not name follow as they stand. @param {string[]} wanted */
export function useOrder(wanted) {
  if (!loaded || wanted.join() === order.join()) return;
  order = wanted;
  arrange();
}

function arrange() {
  const usual = tables().published.catalogue.structures.map((/** @type {{id: string}} */ one) => one.id);
  const place = (/** @type {{id: string}} */ one) => (order.includes(one.id) ? order.indexOf(one.id) : order.length + usual.indexOf(one.id));
  loaded = { ...tables(), catalogue: { ...tables().catalogue, structures: [...tables().catalogue.structures].sort((a, b) => place(a) - place(b)) } };
}

/** Words of this project that stand in the code, in the spelling in use; never what a person typed. @param {string} text */
export function say(text) {
  return spelled(text, words);
}

/** Why something was not seen: the closed list in the spelling in use, own words as they were typed. @param {string} why */
export function reasonWords(why) {
  const { not_seen_reasons: unseen, one_reading_reasons: single } = tables().published.catalogue;
  return [...unseen, ...single].includes(why) ? say(why) : why;
}

export function catalogue() {
  return tables().catalogue;
}

/** The organ's row of a table of descriptors: its own id, its kind (every bowel is "bowel"), or what stands before the side. @param {Record<string, any>} table @param {string} structure */
export function ofOrgan(table, structure) {
  const kind = structure.split('.')[0];
  return table[structure] || table[descriptors().classes[structure] || kind] || null;
}

export function descriptors() {
  return tables().descriptors;
}

/** The findings that are offered first for a structure. @param {string} structure @returns {string[]} */
export function findingsFirst(structure) {
  return ofOrgan(descriptors().finding_first, structure) || [];
}

/** What can be done with a needle, and what is asked before. */
export function procedures() {
  return tables().procedures;
}

/** Windows and manoeuvres of a structure. @param {string} structure @returns {Window[]} */
export function windowsOf(structure) {
  return tables().windows[structure]?.windows || [];
}

function tables() {
  if (!loaded) throw new Error('The tables are not loaded yet.');
  return loaded;
}

export function rulesHash() {
  return loaded ? loaded.hash : '';
}

/** @param {string} id */
export function structureOf(id) {
  return structures.get(id) || null;
}

/** @param {string} id */
export function quantityOf(id) {
  return quantities.get(id) || null;
}

/** The quantities that a derived one is made of. @param {string} id @returns {string[]} */
export function inputsOf(id) {
  return quantities.get(id)?.derived?.of || [];
}

/** Words for any id: a structure, a part, a quantity or a field. @param {string} id @returns {string} */
export function label(id) {
  if (id === 'exam') return 'the exam';
  const known = structures.get(id) || quantities.get(id);
  if (known) return known.label;
  const cut = id.lastIndexOf('.');
  const structure = cut > 0 ? structures.get(id.slice(0, cut)) : null;
  const part = structure?.parts.find((one) => one.id === id.slice(cut + 1));
  if (structure && part) return `${structure.label}, ${part.label}`;
  return id.replace(/[._]/g, ' ');
}

/** A long word may be parted where a reader would part it, never anywhere. @param {string} words */
export function soft(words) {
  return words.replace(/phrenicoabdominal/g, 'phrenico\u00adabdominal');
}

/** The structure that an id belongs to. @param {string} id @returns {string | null} */
export function structureIdOf(id) {
  if (structures.has(id)) return id;
  const quantity = quantities.get(id);
  if (quantity) return quantity.structure;
  for (let cut = id.lastIndexOf('.'); cut > 0; cut = id.lastIndexOf('.', cut - 1)) {
    if (structures.has(id.slice(0, cut))) return id.slice(0, cut);
  }
  return null;
}

/** Seen states in words. @param {string} seen */
export function seenWords(seen) {
  return catalogue().seen_states.find((state) => state.id === seen)?.label || seen.replace(/_/g, ' ');
}
