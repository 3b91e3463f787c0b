/** What the desk asks about this exam: shown above the rows of any structure until it is answered. */
import { html, nothing } from 'lit-html';
import { panel } from './controls.js';
import { go } from './hand.js';
import { record } from './record.js';
import { state, updateSession } from './state.js';
import { label, structureIdOf } from './tables.js';

/** @typedef {import('./types').Asked} Asked */

/** @param {string} id */
function nameOf(id) {
  return state.practice?.people.find((person) => person.id === id)?.name || id;
}

/** @param {Asked} one */
function placeOf(one) {
  return one.about === 'exam' ? '' : `${label(one.about)}: `;
}

/** The open questions, and the answered ones of the structure in hand. */
export function askedView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  return html`${session.view.asked.map((one) => one.open ? openView(one) : answeredView(one))}`;
}

/** @param {Asked} one */
function openView(one) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const structure = structureIdOf(one.about);
  const answer = () => updateSession({ panel: { kind: 'answer', id: one.id, about: one.about, words: `${placeOf(one)}${one.text}` } });
  return html`<div class="row asked-row" data-asked=${one.id}>
    <p><b>${nameOf(one.author)} asks:</b> ${placeOf(one)}${one.text}</p>
    <div class="choices two">
      <button class="choice" data-act="answer-asked" @click=${answer}>answer</button>
      ${structure && structure !== session.structure ? html`<button class="choice" data-act="go-asked" @click=${() => go(structure, null)}>go to ${label(structure)}</button>` : nothing}
    </div>
  </div>`;
}

/** @param {Asked} one */
function answeredView(one) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const here = one.about === 'exam' || structureIdOf(one.about) === session.structure;
  if (!here || !one.text) return nothing;
  return html`<div class="row said-row" data-answered=${one.id}><span class="label">asked</span><span>${one.text} ${one.answers.map((answer) => `\u2192 ${answer.text}`).join('; ')}</span></div>`;
}

/** @param {any} at */
export function answerPanel(at) {
  return panel(at.words, html`
    <label class="small" for="answer-text">Your answer; the keyboard's own dictation works here.</label>
    <textarea id="answer-text" rows="4" .value=${at.text || ''} @input=${(/** @type {any} */ event) => { if (state.session) state.session.panel.text = event.target.value; }}></textarea>`,
    html`<button class="answer wide normal" data-act="answer-done" @click=${() => keepAnswer(at)}>send the answer</button>`);
}

/** @param {any} at */
function keepAnswer(at) {
  const session = state.session;
  const text = String(session?.panel?.text || '').trim();
  if (!session || !text) return;
  session.panel = null;
  record([{ kind: 'noted', body: { about: at.about, text, answers: at.id }, of: [at.id] }], `answer: ${text}`);
}
