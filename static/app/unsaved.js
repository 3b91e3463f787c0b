/** What the phone's storage refused: named, kept on the screen until it is saved, never left behind without a word. */
import { storageWords } from './db.js';
import { say, state, update } from './state.js';
import { label } from './tables.js';

/** @typedef {import('./record.js').Act} Act */

/** @param {import('./state').Session} session @param {unknown} error @param {Act[]} acts @param {string} words what they were, for a person */
export function refuse(session, error, acts, words) {
  const before = session.unsaved;
  const what = [...(before?.what || []), ...acts.map((act) => named(act, words))];
  session.unsaved = { why: storageWords(error, what.join('; ')), what, acts: [...(before?.acts || []), ...acts] };
  say(session.unsaved.why);
}

/** @param {Act} act @param {string} words */
function named({ kind, body }, words) {
  if (kind === 'read') return `${label(body.about)} ${body.value}${body.unit === '1' ? '' : `\u00a0${body.unit}`}`;
  if (kind === 'noted') return `note "${String(body.text).slice(0, 60)}"`;
  if (body.why === 'undo') return `undo: ${label(body.about)}`;
  return words || label(body.about);
}

/** An exam whose values are not on the disk holds the hand where it is. @param {import('./state').Session | null} session @returns {boolean} whether it does */
export function heldByUnsaved(session) {
  if (!session?.unsaved) return false;
  say(session.unsaved.why);
  session.panel = null;
  update({ screen: 'exam', form: null });
  return true;
}

/** Closing the window would lose it too: the browser asks first. */
export function watchUnsaved() {
  globalThis.addEventListener('beforeunload', (event) => {
    if (state.session?.unsaved) event.preventDefault();
  });
}
