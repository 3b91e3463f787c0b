/** One sentence on each screen and panel: there the first time, or always by the settings. */
import { html, nothing } from 'lit-html';
import { saveSettings } from './settings.js';
import { state } from './state.js';

const HELP = /** @type {Record<string, string>} */ ({
  list: 'Tap an animal to begin its exam or to go on; a walk-in is one that is not on this list.',
  start: 'Only the species and a weight (it may be unknown) are needed; then start the exam.',
  exam: 'Digits go into the marked box; a length keeps itself at its last digit (6.2 mm), other numbers by "keep"; the buttons below answer for the whole structure and go on.',
  all: 'Every structure with what was said of it so far; a tap goes there.',
  open: 'What nobody has said yet: a tap on a line goes there, the buttons beside it close it with a reason.',
  animal: 'What changes what a value means; each tap is kept at once and can be changed.',
  settings: 'These choices stay on this phone; who scans is written into every entry.',
  resume: 'Make sure that it is the animal on the table; nothing that was typed is lost.',
  locked: 'The PIN opens the notes of this phone; without it they can still be sent to the practice.',
  pair: 'The desk shows a picture or ten characters on its page "Phones"; both show one number to compare.',
  limits: 'The published limits that values are compared with; a tap on a row shows its source.',
  twice: 'Two readings of the same thing on two images teach how far your own readings lie apart.',
  move: 'Choose the animal that was on the table; all that was recorded goes with it, both names stay.',
  describe: 'Several words at once; nothing is preset, and what is not chosen is not said.',
  finding: 'Only what you tap is recorded; place, size and words may stay empty.',
  more: 'What is needed less often; each opens by one tap.',
  note: 'Free words stay as they are written, also when the phone dies before they are kept.',
  procedure: 'What was done with a needle, or why not; only what you tap is recorded, the time is noted when you keep it.',
  how: 'How the next readings here are taken; it stays in sight above the keys until it is changed.',
  attached: 'Photos and clips stay with their structure and go to the practice after the text.',
});
let shown = '';

/** The screen, or the panel that lies over it. */
function here() {
  const panel = state.screen === 'exam' ? state.session?.panel?.kind : null;
  return panel && HELP[panel] ? panel : state.screen;
}

/** @param {string} name */
function wanted(name) {
  return Boolean(HELP[name]) && (state.settings.help === 'always' || !state.settings.helped.includes(name));
}

/** @param {string} name of a screen or a panel */
export function helpLine(name) {
  return wanted(name) ? html`<p class="help" role="note" data-help=${name}>${HELP[name]}</p>` : nothing;
}

/** On top of the screens; the exam has no room there and shows it above its rows. */
export function helpOnPage() {
  return state.screen === 'exam' ? nothing : helpLine(state.screen);
}

/** After drawing: what was read is not said again, once the screen was left. */
export function noteHelped() {
  const now = here();
  const before = shown;
  shown = now;
  if (!before || before === now || !HELP[before] || state.settings.helped.includes(before)) return;
  saveSettings({ helped: [...state.settings.helped, before] });
}
