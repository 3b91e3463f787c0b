/**
 * A phone that comes back into a hand after minutes with an exam on its screen asks which animal is on the table: the
 * pocket and the next animal look alike from inside. The first touch after that time is taken for nothing else.
 */
import { keepPosition } from './hand.js';
import { ASK_AFTER_MS, agoWords } from './right-animal.js';
import { say, state, update } from './state.js';
import { localTime } from './entry.js';
import { other, whereWords } from './view-resume.js';

const LOOK_MS = 15000;
/** A finger that put the question is not on its answer yet. */
const QUIET_MS = 600;
const NOT_HERE = ['resume', 'list', 'start', 'locked', 'pin', 'pair', 'revoked', 'starting', 'stopped'];
let touched = Date.now();
/** On a clock that nobody sets: one that was put back would swallow every touch. */
let asked = -Infinity;

/** Watch touches, keys and the page's return. */
export function watchReturn() {
  for (const kind of ['pointerdown', 'click', 'keydown']) document.addEventListener(kind, onTouch, { capture: true });
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') askWhenLate();
  });
  setInterval(askWhenLate, LOOK_MS);
}

/** @param {Event} event */
function onTouch(event) {
  const quiet = performance.now() - asked < QUIET_MS;
  if (!quiet && !askWhenLate()) {
    touched = Date.now();
    return;
  }
  event.preventDefault();
  event.stopImmediatePropagation();
}

/** @returns {boolean} whether the question was just put */
function askWhenLate() {
  const { session, screen } = state;
  if (!session || NOT_HERE.includes(screen) || Date.now() - touched < ASK_AFTER_MS) return false;
  // What the storage has not taken yet holds the screen: nothing may get out of sight.
  if (session.unsaved || session.provisional.length) return false;
  const since = new Date(touched);
  const { id, structure, row, typed, how } = session;
  const position = { exam: id, structure, row, typed, how, at: localTime(since) };
  const back = () => update({ screen, resume: null });
  touched = Date.now();
  asked = performance.now();
  keepPosition();
  say('Is it the same animal?');
  update({
    screen: 'resume',
    resume: {
      patient: session.view.patient,
      position,
      lines: [`you were at ${whereWords(position, session.view)}; ${agoWords(position.at, Date.now())}`],
      choices: [
        { words: 'yes, same animal, go on', act: 'go-on', go: back },
        { words: 'other animal', act: 'other-animal', go: () => other(position) },
      ],
    },
  });
  return true;
}
