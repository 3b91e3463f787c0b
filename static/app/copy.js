/**
 * "Give me a copy": the journal of this phone as a file that the practice's command and the desk take in like a push.
 * A locked phone gives it sealed; the practice has the other key.
 */
import { localDate } from './entry.js';
import { deviceState, ownRows } from './journal.js';
import { sealedOf } from './push.js';
import { envelopeOf } from './shelf.js';
import { state } from './state.js';
import { isReadable, serverWrapped } from './vault.js';
import { PROTOCOL } from './wire.js';

/** @typedef {import('./types').Row} Row */
/** @typedef {{name: string, text: string, words: string}} Copy the file's name, its content, and what to say about it */

/** @returns {Promise<Copy>} */
export async function journalFile() {
  const [{ device }, rows] = await Promise.all([deviceState(), ownRows()]);
  const locked = !isReadable();
  const { content, many } = locked ? sealedContent(rows) : await openContent(rows);
  const name = `gelside-journal-${device.slice(0, 8)}-${localDate()}.json`;
  const missing = rows.length - many;
  const kept = `${many} ${many === 1 ? 'entry' : 'entries'}${locked ? ', sealed,' : ''} in ${name}: give it to the desk (Records, journal file).`;
  const words = missing ? `${kept} ${missing} could not be read from this phone's storage and are NOT in it.` : kept;
  return { name, words: state.sync.photos ? `${words} Pictures and clips are NOT in it: ${state.sync.photos} wait here to be sent.` : words, text: JSON.stringify({ gelside: 'journal', protocol: PROTOCOL, device, ...content }) };
}

/** @param {Row[]} rows */
async function openContent(rows) {
  const outcomes = await Promise.allSettled(rows.map(envelopeOf));
  const entries = outcomes.flatMap((one) => (one.status === 'fulfilled' ? [one.value] : []));
  return { content: { entries }, many: entries.length };
}

/** @param {Row[]} rows */
function sealedContent(rows) {
  const sealed = rows.filter((row) => row.sealed).map(sealedOf);
  return { content: { wrapped_key: serverWrapped(), sealed }, many: sealed.length };
}

/** Hand the file to the browser's own saving. @returns {Promise<string>} what became of it, in words */
export async function giveCopy() {
  const { name, text, words } = await journalFile();
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([text], { type: 'application/json' }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  return words;
}
