/** Pictures and clips of a structure: taken, shown, struck. Text never waits for them. */
import { html, nothing } from 'lit-html';
import { addNote } from './acts.js';
import { MOST_S, canRecord, startClip } from './clip.js';
import { changePanel as change, chipButton, panel } from './controls.js';
import { storageWords } from './db.js';
import { keepPosition } from './hand.js';
import { dropPhoto, keepPhoto, photoBytes } from './photos.js';
import { PictureProblem, redrawn } from './picture.js';
import { record } from './record.js';
import { say, state, updateSession } from './state.js';
import { label } from './tables.js';
import { keepWords, openWords, wordsDone } from './words.js';

/** @typedef {{data: ArrayBuffer, type: string, width?: number, height?: number, duration_s?: number, text?: string}} Made */

/** @type {() => void} */
let stopClip = () => undefined;

/** The camera of the phone, by the system's own control: it may kill this page, so the hand's place is on the disk before. @param {string} about */
export function photoChoice(about) {
  return html`<label class="choice file" data-act="photo" @pointerdown=${() => keepPosition()}>take a photo
    <input type="file" accept="image/*" capture="environment" @click=${() => keepPosition()} @change=${(/** @type {any} */ event) => taken(about, event.target.files[0])}></label>`;
}

/** @param {string} about @param {File | undefined} file */
async function taken(about, file) {
  if (!file) return;
  updateSession({ panel: { kind: 'told', about, words: 'The picture is being made small ...' } });
  try {
    await attach(about, await redrawn(file), 'photo');
  } catch (error) {
    if (!(error instanceof PictureProblem)) throw error;
    refused(about, error.message);
  }
}

/** Bytes first, then the entry that names them. @param {string} about @param {Made} made @param {string} word */
async function attach(about, { data, type, ...more }, word) {
  const session = state.session;
  if (!session) return;
  const size = `${Math.ceil(data.byteLength / 1000)} kB`;
  try {
    const kept = await keepPhoto(data, type, session.id);
    updateSession({ panel: null });
    const done = await record([{ kind: 'attached', body: { about, hash: kept.hash, type: kept.type, size: kept.size, ...more } }], `${word}: ${label(about)}, ${size}`);
    if (!done) await dropPhoto(kept);
  } catch (error) {
    refused(about, `${storageWords(error, `the ${word} (${size})`)} Everything you typed is kept.`);
  }
}

/** @param {string} about @param {string} words */
function refused(about, words) {
  updateSession({ panel: { kind: 'told', about, words, bad: true } });
  say(words);
}

/** @param {any} at */
export function toldPanel(at) {
  return panel(label(at.about), html`<p class=${at.bad ? 'problem-words' : 'small'} role=${at.bad ? 'alert' : 'status'}>${at.words}</p>
    ${at.bad ? html`<div class="choices two">${photoChoice(at.about)}</div>` : nothing}`);
}

/** @param {any} at */
export function clipPanel(at) {
  const stop = html`<button class="answer wide normal" data-act="clip-stop" @click=${() => stopClip()}>stop and keep it</button>`;
  const start = html`<button class="answer wide normal" data-act="clip-start" @click=${() => beginClip(at.about)}>record</button>`;
  return panel(`${label(at.about)}: a clip`, html`<p class="small" role="status">${at.on ? 'Recording: speak now.' : `Up to ${MOST_S} seconds, kept with the note and sent to the practice alone, where a person writes its words.`}</p>
    ${at.words ? html`<p class="problem-words" role="alert">${at.words}</p>` : nothing}`, at.on ? stop : start);
}

/** @param {string} about */
async function beginClip(about) {
  try {
    stopClip = await startClip(
      // Whoever leaves the recorder by any way stops it: nothing listens unseen. What was said is kept.
      () => (state.session?.panel?.kind === 'clip' ? change({ on: true, words: '' }) : stopClip()),
      (clip) => (clip ? attach(about, { data: clip.data, type: clip.type, duration_s: clip.seconds }, 'clip') : change({ on: false, words: 'Nothing was recorded.' })),
    );
  } catch (error) {
    change({ words: error instanceof Error ? error.message : String(error) });
  }
}

/** A way to the recorder from the note. @param {string} about */
export function clipChoice(about) {
  return canRecord() ? html`<div class="choices two">${chipButton('record a clip', () => updateSession({ panel: { kind: 'clip', about } }))}</div>` : nothing;
}

/** What is attached here, each with its way to be seen and struck. @param {string} structure */
export function attachedRows(structure) {
  const rows = state.session?.view.attachments.filter((one) => one.about === structure && !one.struck) || [];
  return rows.map((one) => html`<button class="row said-row" data-attached=${one.hash} @click=${() => show(one)}>
    <span class="label">${wordOf(one)}</span><span>${one.at.slice(11, 16)}${one.size ? `, ${Math.ceil(one.size / 1000)} kB` : ''}</span></button>`);
}

/** @param {import('./photos.js').Attachment} one */
function wordOf(one) {
  return one.type.startsWith('image/') ? 'photo' : 'clip';
}

/** @param {import('./photos.js').Attachment} one */
async function show(one) {
  await openWords({ ...one, kind: 'attached', words: 'opening ...' });
  try {
    const bytes = await photoBytes(one.hash);
    change(bytes ? { url: URL.createObjectURL(new Blob([bytes], { type: one.type })), words: '' } : { words: 'The bytes are not on this phone; the practice has them.' });
  } catch (error) {
    change({ words: error instanceof Error ? error.message : String(error) });
  }
}

/** @param {any} at @param {(at: any) => unknown} strikes */
export function attachedPanel(at, strikes) {
  const seen = wordOf(at) === 'photo' ? html`<img class="shown" src=${at.url} alt="photo of ${label(at.about)}, ${at.at.slice(11, 16)}">` : html`<audio controls src=${at.url}></audio>`;
  return panel(`${wordOf(at)}: ${label(at.about)}`, html`${at.url ? seen : html`<p class="small" role="status">${at.words}</p>`}
    ${wordOf(at) === 'clip' ? clipWords(at) : nothing}${strikes(at)}`);
}

/** What is said in a clip, written down by a person: a note that names the clip. @param {any} at */
function clipWords(at) {
  const told = (state.session?.view.notes || []).filter((note) => note.of.includes(at.id) && !note.struck);
  return html`${told.map((note) => html`<p class="asked" data-clip-words=${at.hash}>${note.text}</p>`)}
    <label class="small" for="clip-text">what is said in it (the keyboard's own dictation works here)</label>
    <textarea id="clip-text" rows="2" .value=${at.text || ''} @input=${(/** @type {any} */ event) => keepWords(at, event.target.value)}></textarea>
    <button class="answer wide normal" data-act="clip-words" @click=${() => wordsDone(at, () => addNote(at.about, state.session?.panel.text || '', [at.id]))}>keep these words</button>`;
}
