/**
 * The engine answers an entry with only what changed; this keeps the whole beside it.
 * Pure: used in the worker, tested without one.
 */

const LISTS = ['flags', 'judged', 'silent', 'assumed', 'values', 'contradictions', 'context', 'lesions', 'last_time'];

/** @typedef {{exam: any, units: Record<string, any>, order: string[], open_order: string[], earlier: any[], limits_version: string}} Whole */

/**
 * @param {Whole | null} before @param {any} answer of the engine, asked "as": "units"
 * @returns {Whole}
 * @throws {Error} for a change without a whole to change
 */
export function merge(before, answer) {
  if (answer.exam) return answer;
  if (!before || !answer.delta) throw new Error('the rules answered something unexpected');
  const { delta } = answer;
  const exam = { ...before.exam, ...delta.fields };
  for (const name of Object.keys(delta.added)) exam[name] = [...(before.exam[name] || []), ...delta.added[name]];
  const replaced = new Set(delta.states.map((/** @type {any} */ row) => row.about));
  exam.states = [...before.exam.states.filter((/** @type {any} */ row) => !replaced.has(row.about)), ...delta.states];
  return { ...before, exam, units: { ...before.units, ...delta.units }, open_order: delta.open_order };
}

/** The judgement of the whole exam, in the engine's order. @param {Whole} whole */
export function judgementOf(whole) {
  /** @type {Record<string, any>} */
  const judgement = { limits_version: whole.limits_version, open: collect(whole, whole.open_order, 'open') };
  for (const name of LISTS) judgement[name] = collect(whole, whole.order, name);
  judgement.sentences = Object.assign({}, ...whole.order.map((unit) => whole.units[unit]?.sentences || {}));
  return judgement;
}

/** @param {Whole} whole @param {string[]} order @param {string} list */
function collect(whole, order, list) {
  return order.flatMap((unit) => whole.units[unit]?.[list] || []);
}
