/**
 * How the animal was prepared: what can move a value without disease, or say why a window was poor. All of it may stay
 * unsaid. The last answer is offered where it is likely to hold again, and is recorded only when somebody taps it.
 */
/** @typedef {{field: string, title: string, choices: [string, any][], several?: boolean, asBefore?: 'animal' | 'phone'}} Preparation */

/** `asBefore`: whose last answer is offered: this animal's, or that of the exam before on this phone. @type {Preparation[]} */
export const PREPARATION = [
  { field: 'fasted', title: 'fasted', choices: [['yes', true], ['no', false]] },
  {
    field: 'sedation', title: 'sedation', several: true,
    choices: ['none', 'acepromazine', 'alfaxalone', 'butorphanol', 'dexmedetomidine', 'gabapentin', 'propofol', 'other'].map((one) => [one, one]),
  },
  { field: 'fluids', title: 'fluids', choices: [['none', 'none'], ['running', 'running'], ['unknown', 'unknown']] },
  { field: 'steroids', title: 'steroid', asBefore: 'animal', choices: [['yes', 'yes'], ['no', 'no'], ['unknown', 'unknown']] },
  {
    field: 'recumbency', title: 'lying', asBefore: 'phone',
    choices: [['dorsal', 'dorsal'], ['left lateral', 'left lateral'], ['right lateral', 'right lateral'], ['standing', 'standing']],
  },
  {
    field: 'coat', title: 'coat', asBefore: 'animal',
    choices: [['clipped', 'clipped'], ['not clipped', 'not clipped'], ['clip refused', 'clip refused'], ['short coat', 'short coat']],
  },
];
/** Longer words for the head of the choices. */
const ASKED = /** @type {Record<string, string>} */ ({
  fluids: 'fluids into the vein', steroids: 'steroid in the last year', recumbency: 'how it lies', coat: 'coat and clip', sedation: 'sedation today', fasted: 'fasted for this exam',
});

/** @param {Preparation} one */
export function askedWords(one) {
  return ASKED[one.field] || one.title;
}

/** Whether a choice stands. @param {Preparation} one @param {any} value of the context @param {any} choice */
export function stands(one, value, choice) {
  if (!one.several) return value === choice || (Array.isArray(value) && value.length === 1 && value[0] === choice);
  return choice === 'none' ? Array.isArray(value) && !value.length : (value || []).includes(choice);
}

/** The field's new value after a tap on a choice. @param {Preparation} one @param {any} value @param {any} choice */
export function chosen(one, value, choice) {
  if (!one.several) return choice;
  const now = value || [];
  if (choice === 'none') return [];
  return now.includes(choice) ? now.filter((/** @type {any} */ item) => item !== choice) : [...now, choice];
}

/** The answer in words; '' where nothing was said. @param {Preparation} one @param {any} value */
export function answerWords(one, value) {
  const said = one.choices.filter(([, choice]) => stands(one, value, choice)).map(([words]) => words);
  if (said.length) return said.join(', ');
  if (value === undefined || value === null || value === '') return '';
  return Array.isArray(value) ? value.join(', ') : String(value);
}
