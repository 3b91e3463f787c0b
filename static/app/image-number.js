/** The machine's own number of a picture: on the next reading, on a finding, or on the structure as a whole. */
import { html, nothing } from 'lit-html';
import { setFields } from './acts.js';
import { changePanel, chipButton, panel, smallKeys } from './controls.js';
import { state, updateSession } from './state.js';
import { label } from './tables.js';

const LONGEST = 8;
const DIGITS = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '0'];

/**
 * A chip that opens digits; nothing is asked for, nothing is counted on by itself.
 * @param {any} at the panel, which holds what is typed @param {string | undefined} now @param {(image: string | undefined) => void} set
 */
export function imageChooser(at, now, set) {
  const keep = (/** @type {string} */ typed) => {
    set(typed);
    changePanel({ imageTyped: '', imageOpen: false });
  };
  return html`<div class="choices">${chipButton(now ? `image ${now}` : 'type the number', () => changePanel({ imageOpen: !at.imageOpen }), Boolean(now))}
      ${now ? nothing : near().map((number) => chipButton(`image ${number}`, () => set(number)))}
      ${now ? chipButton('no image number', () => set(undefined)) : nothing}</div>
    ${at.imageOpen ? digits(at, keep) : nothing}`;
}

/** The number given last in this exam and the one after it: the machine counts on. @returns {string[]} */
function near() {
  const session = state.session;
  if (!session) return [];
  const given = [...session.view.readings.map((one) => one.how.image), ...session.view.findings.map((one) => one.image), ...Object.entries(session.view.fields).flatMap(([name, value]) => (name.endsWith('.images') ? value : []))];
  const highest = Math.max(0, ...given.map(Number).filter(Number.isInteger));
  return highest ? [String(highest), String(highest + 1)] : [];
}

/** @param {any} at @param {(typed: string) => void} keep */
function digits(at, keep) {
  const typed = at.imageTyped || '';
  return smallKeys({
    typed, name: 'image', keys: DIGITS, words: 'keep number',
    press: (key) => changePanel({ imageTyped: (typed + key).slice(0, LONGEST) }),
    erase: () => changePanel({ imageTyped: typed.slice(0, -1) }),
    keep: () => (typed ? keep(typed) : undefined),
  });
}

/** Pictures of the structure as a whole: one number more each time; a tap on one takes it out again. @param {any} at */
export function imagesPanel(at) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const about = `${session.structure}.images`;
  const known = /** @type {string[]} */ (session.view.fields[about] || []);
  const set = (/** @type {string[]} */ value, /** @type {string} */ words) => setFields([{ about, value }], `${label(session.structure)}: ${words}`);
  return panel(`${label(session.structure)}: image numbers`, html`
    ${known.length ? html`<div class="choices">${known.map((one) => chipButton(`image ${one}`, () => set(known.filter((other) => other !== one), `image ${one} taken out`), true))}</div>` : nothing}
    ${digits(at, (typed) => {
      updateSession({ panel: null });
      if (!known.includes(typed)) set([...known, typed], `image ${typed}`);
    })}`);
}
