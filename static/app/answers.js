/**
 * Which records a line of the judgement speaks of, and whether a person has given a reason for it.
 * A reason holds for the records it named: a reading that comes later asks again. Pure functions.
 */

/** @typedef {import('./types').ExamView} ExamView */
/** @typedef {import('./types').Line} Line */
/** @typedef {import('./types').Acknowledgement} Acknowledgement */

/** Quantities that an id stands for: itself, or what it is derived from. @typedef {(about: string) => string[]} Inputs */

/** Grades that ask a person for something. */
const ASKING = ['tell_someone', 'outside', 'look_again'];

/** @param {Line} line */
export function asksForReason(line) {
  return ASKING.includes(line.grade || '');
}

/**
 * Ids of the standing records behind a line: its readings, or all that stands about its place.
 * @param {{about: string}} line @param {ExamView} view @param {Inputs} inputs
 */
export function recordsBehind({ about }, view, inputs) {
  const named = new Set([about, ...inputs(about)]);
  const standing = view.readings.filter((one) => !one.struck);
  const exact = standing.filter((one) => named.has(one.quantity)).map((one) => one.id);
  if (exact.length) return exact;
  const below = (/** @type {string} */ name) => name === about || name.startsWith(`${about}.`);
  return [
    ...standing.filter((one) => below(one.quantity)).map((one) => one.id),
    ...Object.values(view.states).filter((one) => below(one.about)).map((one) => one.id),
    ...view.findings.filter((one) => !one.struck && one.structure === about).map((one) => one.id),
  ];
}

/**
 * The newest reason that covers every record behind the line, or null.
 * @param {Line} line @param {ExamView} view @param {Inputs} inputs @returns {Acknowledgement | null}
 */
export function answerOf(line, view, inputs) {
  const given = view.acknowledged.filter((one) => one.about === line.about && one.flag === line.kind);
  if (!given.length) return null;
  const behind = recordsBehind(line, view, inputs);
  return [...given].reverse().find((one) => behind.every((id) => one.of.includes(id))) || null;
}
