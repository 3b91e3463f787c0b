/** Free words in a panel: every keystroke is on the disk, and what was not kept as a note comes back. */
import { storageWords } from './db.js';
import { keepDraft, readDraft } from './in-hand.js';
import { state, update, updateSession } from './state.js';

/** @param {{kind: string, about: string, hash?: string}} at a panel with one field */
function keyOf(at) {
  return `words:${state.session?.id}:${at.hash || at.about}`;
}

/** Open a panel with what stood in its field. @param {any} at */
export async function openWords(at) {
  updateSession({ panel: at });
  const key = keyOf(at);
  const kept = await readDraft(key);
  const now = state.session?.panel;
  // What was typed meanwhile is newer.
  if (kept?.text && now === at && !now.text && key === keyOf(at)) updateSession({ panel: { ...now, text: kept.text } });
}

/** @param {any} at @param {string} text */
export function keepWords(at, text) {
  const session = state.session;
  if (!session) return;
  session.panel.text = text;
  keepDraft(keyOf(at), text ? { exam: session.id, text } : null).catch((error) => update({ trouble: storageWords(error) }));
}

/** They became an entry: the field is empty again. @param {any} at @param {() => Promise<unknown> | undefined} keep */
export async function wordsDone(at, keep) {
  const key = keyOf(at);
  if (await keep()) await keepDraft(key, null);
}
