/** Which structures and rows an animal has, in which order, and how far an exam is. Pure functions. */

/** @typedef {import('./types').Structure} Structure */
/** @typedef {import('./types').Quantity} Quantity */
/** @typedef {import('./types').ExamView} ExamView */
/** @typedef {import('./types').Catalogue} Catalogue */

/** A row of a structure's screen: a measure with its boxes, or a part whose state is asked for. */
/** @typedef {{id: string, kind: 'measure' | 'part', label: string, quantity: Quantity | null, part: string | null}} ScreenRow */

/** Lesion measures belong to a numbered lesion of any structure. */
export const LESION = ['lesion.length', 'lesion.width', 'lesion.height'];

/** @param {Structure} structure @param {ExamView} view whether the animal has it at all */
export function present(structure, view) {
  const { sex, neutered } = view.patient;
  const need = structure.present_when;
  if (!need) return true;
  if (need.startsWith('male') && sex === 'female') return false;
  if (need.startsWith('female') && sex === 'male') return false;
  return !(need.includes('entire') && neutered === true);
}

/** Taken out according to the signalment, unless somebody recorded otherwise. @param {Structure} structure @param {ExamView} view */
export function removedBySignalment(structure, view) {
  return view.patient.neutered === true && /^(ovary|testis)\./.test(structure.id);
}

/** Structures that the exam asks for, in order. @param {Catalogue} catalogue @param {ExamView} view @returns {Structure[]} */
export function due(catalogue, view) {
  const asked = new Set(view.question.structures);
  return catalogue.structures.filter((structure) => {
    if (asked.has(structure.id)) return true;
    if (!structure.default || !present(structure, view)) return false;
    if (removedBySignalment(structure, view)) return false;
    return !(structure.id === 'uterus' && view.patient.neutered === true);
  });
}

/** The others: offered when wanted. @param {Catalogue} catalogue @param {ExamView} view */
export function others(catalogue, view) {
  const first = new Set(due(catalogue, view).map((structure) => structure.id));
  return catalogue.structures.filter((structure) => !first.has(structure.id));
}

/** Somebody said what was seen of it, or of every part. @param {Structure} structure @param {ExamView} view */
export function answered(structure, view) {
  if (view.states[structure.id]) return true;
  return structure.parts.length > 0 && structure.parts.every((part) => view.states[`${structure.id}.${part.id}`]);
}

/** @param {Structure} structure @param {ExamView} view anything at all recorded */
export function touched(structure, view) {
  return (
    answered(structure, view) ||
    structure.parts.some((part) => view.states[`${structure.id}.${part.id}`]) ||
    view.readings.some((reading) => !reading.struck && reading.quantity.startsWith(`${structure.id}.`)) ||
    view.findings.some((finding) => !finding.struck && finding.structure === structure.id)
  );
}

/** @param {Catalogue} catalogue @param {ExamView} view @returns {{done: number, of: number}} */
export function progress(catalogue, view) {
  const list = due(catalogue, view);
  return { done: list.filter((structure) => answered(structure, view)).length, of: list.length };
}

/** The next structure without an answer after `id`, from the start again if need be; null when none is left. */
/** @param {Catalogue} catalogue @param {ExamView} view @param {string} id @returns {string | null} */
export function nextOpen(catalogue, view, id) {
  const all = catalogue.structures;
  const list = new Set(due(catalogue, view).map((structure) => structure.id));
  const start = all.findIndex((structure) => structure.id === id);
  for (let step = 1; step <= all.length; step += 1) {
    const structure = all[(start + step) % all.length];
    if (structure.id !== id && list.has(structure.id) && !answered(structure, view)) return structure.id;
  }
  return null;
}

/** The neighbour in the shown order. @param {Catalogue} catalogue @param {ExamView} view @param {string} id @param {number} step */
export function neighbour(catalogue, view, id, step) {
  const list = due(catalogue, view).map((structure) => structure.id);
  const place = list.indexOf(id);
  if (place < 0) return list[0];
  return list[(place + step + list.length) % list.length];
}

/** Adrenal glands are never folded: every part has its own row. @param {Structure} structure */
export function neverFolded(structure) {
  return structure.id.startsWith('adrenal.');
}

/** @param {Catalogue} catalogue @param {Structure} structure @param {string | null | undefined} species @returns {Quantity[]} */
export function measures(catalogue, structure, species) {
  return catalogue.quantities.filter((quantity) => {
    if (quantity.structure !== structure.id) return false;
    if (quantity.derived && quantity.derived.rule !== 'larger_pole') return false;
    return !(quantity.species && species && !quantity.species.includes(species));
  });
}

/**
 * Rows of a structure's screen: core measures first, then parts that are asked for one by one, then (when
 * unfolded) all other measures. A measure that already has a reading is always shown.
 * @param {Catalogue} catalogue @param {Structure} structure @param {ExamView} view
 * @param {{parts: boolean, more: boolean}} unfolded @returns {ScreenRow[]}
 */
export function rows(catalogue, structure, view, unfolded) {
  const all = measures(catalogue, structure, view.patient.species);
  const read = new Set(view.readings.map((reading) => reading.quantity));
  const shown = all.filter((quantity) => offered(quantity, structure, view) || unfolded.more || read.has(quantity.id));
  const list = shown.map((quantity) => measureRow(structure, quantity));
  const measured = new Set(all.filter((quantity) => quantity.core).map((quantity) => quantity.part));
  const parts = structure.parts.filter((part) => {
    if (measured.has(part.id)) return false;
    return neverFolded(structure) || unfolded.parts || Boolean(view.states[`${structure.id}.${part.id}`]);
  });
  // A gland's vein stays open even when the gland was seen whole, so it comes before the parts that close with it.
  const vein = (/** @type {import('./types').Part} */ part) => (part.id === 'phrenicoabdominal_vein' ? 0 : 1);
  parts.sort((a, b) => vein(a) - vein(b));
  const core = list.filter((row) => row.quantity?.core);
  const rest = list.filter((row) => !row.quantity?.core);
  return [...core, ...parts.map((part) => partRow(structure, part)), ...rest];
}

/**
 * Core measures are offered by themselves. In a mass whose poles are one, a pole's boxes come only for readings, or
 * when more is asked for. @param {Quantity} quantity @param {Structure} structure @param {ExamView} view
 */
function offered(quantity, structure, view) {
  const whole = view.findings.some((one) => !one.struck && one.structure === structure.id && one.shape === 'mass, poles not separable');
  return quantity.core && !(whole && quantity.part);
}

/** How many measures stay folded away. @param {Catalogue} catalogue @param {Structure} structure @param {ExamView} view */
export function folded(catalogue, structure, view) {
  const read = new Set(view.readings.map((reading) => reading.quantity));
  return measures(catalogue, structure, view.patient.species).filter((quantity) => !offered(quantity, structure, view) && !read.has(quantity.id)).length;
}

/** @param {Structure} structure @param {Quantity} quantity @returns {ScreenRow} */
function measureRow(structure, quantity) {
  const whole = quantity.label.startsWith(`${structure.label}, `) ? quantity.label.slice(structure.label.length + 2) : quantity.label;
  // Where only one thickness of a part is asked, the part's name says enough; the long axis is the rule.
  const plain = quantity.core && quantity.part ? whole.replace(/ thickness$/, '') : whole;
  // The side stands above the rows.
  const label = /^(LEFT|RIGHT) /.test(structure.label) ? plain.replace(/^(LEFT|RIGHT) /, '') : plain;
  return { id: quantity.id, kind: 'measure', label, quantity, part: quantity.part };
}

/** @param {Structure} structure @param {import('./types').Part} part @returns {ScreenRow} */
function partRow(structure, part) {
  return { id: `${structure.id}.${part.id}`, kind: 'part', label: part.label, quantity: null, part: part.id };
}

/** Kept and struck readings of a row. @param {ExamView} view @param {string} quantity @param {string | null} [lesion] */
export function readingsOf(view, quantity, lesion = null) {
  return view.readings.filter((reading) => reading.quantity === quantity && (!lesion || reading.lesion === lesion));
}

/** States that say: there was nothing to measure. */
const HIDDEN = new Set(['not_seen', 'not_examined', 'not_visible_expected', 'removed']);

/** @param {ScreenRow} row @param {ExamView} view */
function hidden(row, view) {
  const state = row.part && row.quantity ? view.states[`${row.quantity.structure}.${row.part}`] : null;
  return Boolean(state && HIDDEN.has(state.seen));
}

/**
 * What one tap may claim about a structure: never "normal" over a finding, never "whole" over a hidden part.
 * @param {Structure} structure @param {ExamView} view
 * @returns {{words: string, seen: 'whole' | 'partly', normal: boolean, why: string[]}}
 */
export function claim(structure, view) {
  const parts = structure.parts.map((part) => view.states[`${structure.id}.${part.id}`]).filter(Boolean);
  const missing = parts.filter((state) => ['not_seen', 'not_examined', 'partly'].includes(state.seen));
  if (missing.length) {
    return { words: 'rest seen', seen: 'partly', normal: false, why: [...new Set(missing.flatMap((state) => state.why))] };
  }
  const found = view.findings.some((finding) => !finding.struck && finding.structure === structure.id && finding.finding !== 'none');
  return found
    ? { words: 'seen, with finding', seen: 'whole', normal: false, why: [] }
    : { words: 'seen, normal', seen: 'whole', normal: true, why: [] };
}

/** The flag of the entry by which a person said that one reading is enough. */
export const ONE_READING = 'one_reading';

/** Why one reading of this is enough, as a person said, or null. @param {ExamView} view @param {string} quantity */
export function oneIsEnough(view, quantity) {
  return view.acknowledged.find((one) => one.about === quantity && one.flag === ONE_READING)?.reason || null;
}

/** How many readings are wanted of a row. @param {Quantity} quantity @param {ExamView} view */
export function wanted(quantity, view) {
  return oneIsEnough(view, quantity.id) ? 1 : quantity.readings;
}

/** The row whose box comes next: this one while readings are wanted, else the next with an empty box; never a part that was called not seen. */
/** @param {ScreenRow[]} list @param {string | null} current @param {ExamView} view @returns {string | null} */
export function nextBox(list, current, view) {
  const measured = list.filter((row) => row.quantity);
  if (!measured.length) return null;
  const place = measured.findIndex((row) => row.id === current);
  for (let step = 0; step <= measured.length; step += 1) {
    const row = measured[(Math.max(place, 0) + step) % measured.length];
    const kept = readingsOf(view, row.id).filter((reading) => !reading.struck).length;
    if (row.quantity && kept < wanted(row.quantity, view) && !hidden(row, view)) return row.id;
  }
  const held = list.find((row) => row.id === current);
  return held && !hidden(held, view) ? current : null;
}

/** What one tap usually says of a structure: as expected, where this animal mostly shows nothing. @param {Structure} structure @param {ExamView} view */
export function usualClaim(structure, view) {
  if (oftenNotVisible(structure, view)) return { words: 'not visible, as expected', seen: 'not_visible_expected', normal: false, why: [] };
  return claim(structure, view);
}

/**
 * Structures that one sweep shows and one tap may answer: a group of the catalogue from `id` on, as long as they come
 * next, nobody said or measured anything of them and the question does not name them. Fewer than two: none.
 * @param {Catalogue} catalogue @param {ExamView} view @param {string} id @returns {Structure[]}
 */
export function together(catalogue, view, id) {
  const group = catalogue.together.find((one) => one.includes(id)) || [];
  const asked = view.question.structures.some((one) => group.includes(one));
  const wanted = due(catalogue, view);
  const open = wanted.filter((structure) => group.includes(structure.id));
  if (asked || open.length < 2 || open[0].id !== id || open.some((structure) => touched(structure, view))) return [];
  const from = wanted.indexOf(open[0]);
  return open.every((structure, place) => wanted[from + place] === structure) ? open : [];
}

/** "not visible, as expected" is offered for this animal. @param {Structure} structure @param {ExamView} view */
export function oftenNotVisible(structure, view) {
  const { species, neutered, sex } = view.patient;
  if (!species) return false;
  return (structure.often_not_visible || []).some(
    (who) => who === species || (who === `${species} castrated` && neutered === true && sex === 'male'),
  );
}
