/** The line for words: what was said, what it would write, what is asked, and what was not understood. */
import { html, nothing } from 'lit-html';
import { panel } from './controls.js';
import { undo } from './record.js';
import { accept, acceptAll, answer, done, keepLeftOver, lastReading, listen, readyPlaces, said, setText, stickyNow, typeInstead, world } from './say.js';
import { nextQuestion, sizeWords, words } from './say-words.js';
import { state } from './state.js';
import { label } from './tables.js';
import { provider } from './voice.js';

export function sayPanel() {
  const sticky = stickyNow();
  const ready = readyPlaces();
  return panel(
    'say or type',
    html`<div class="say">
      ${sticky ? html`<p class="say-sticky" data-sticky=${sticky.structure}>goes on with: <b>${sticky.words}</b></p>` : nothing}
      ${fieldView()}
      ${said.problem ? html`<p class="problem-words" role="alert">${said.problem}</p>` : nothing}
      ${said.kept.length ? html`<p class="say-kept" role="status" data-kept-of-words=${said.kept.length}>kept: ${said.kept.length} of ${said.proposals.length}</p>` : nothing}
      <div class="say-list" role="group" aria-label="proposals">${said.proposals.map((_, place) => proposalView(place))}</div>
      ${leftOverView()}${stateView()}
    </div>`,
    ready.length > 1 ? html`<button class="answer wide normal" data-act="keep-all" @click=${() => acceptAll(ready)}>${ready.length === said.proposals.length ? `keep these ${ready.length}` : `keep the ${ready.length} without a question`}</button>` : nothing,
  );
}

function fieldView() {
  const listening = provider();
  return html`<div class="say-field"><textarea id="say-text" rows="2" autocomplete="off" autocapitalize="off" spellcheck="false" enterkeyhint="done"
      aria-label="say or type: words or shorthand" placeholder="la cd 4.2 4.3" .value=${said.text}
      @input=${(/** @type {any} */ event) => setText(event.target.value)}
      @keydown=${(/** @type {KeyboardEvent} */ event) => { if (event.key === 'Enter') { event.preventDefault(); /** @type {HTMLElement} */ (event.target).blur(); done(); } }}></textarea>
    ${listening ? html`<button class="side-key" data-act="listen" aria-pressed=${said.listening ? 'true' : 'false'} @click=${listen}>${said.listening ? 'stop' : 'listen'}</button>` : nothing}
    ${said.text ? html`<button class="side-key" data-act="say-clear" @click=${() => setText('')}>clear</button>` : nothing}</div>`;
}

/** @param {number} place */
function proposalView(place) {
  const one = said.proposals[place];
  const answers = said.answers[`${place}`] || {};
  const told = one.do === 'strike' ? strikeWords() : words(one, answers, world());
  // What was kept makes room: the next question comes up without a swipe.
  if (said.kept.includes(`${place}`)) return nothing;
  const asked = nextQuestion(one, answers, world());
  if (!asked) return html`<button class="say-one" data-proposal=${place} data-act="accept" @click=${() => accept(place)}>${told}</button>`;
  return html`<div class="say-asked" data-proposal=${place} data-asks=${asked.name}><p><b>${told}</b> ${asked.words}</p>
    <div class="choices ${asked.name === 'reason' ? '' : 'two'}">${asked.choices.map((choice) => html`<button class="choice" data-choice=${choice.words}
      @click=${() => (choice.act === 'type' ? typeInstead(place) : answer(place, choice.set))}>${choice.words}</button>`)}</div></div>`;
}

function strikeWords() {
  const reading = lastReading();
  return reading ? `strike ${label(reading.quantity)} ${sizeWords(reading.value, reading.unit)}` : 'no reading to strike';
}

function leftOverView() {
  if (!said.leftOver || said.onlyPlace) return nothing;
  if (said.noteKept) return html`<p class="say-kept" data-left="kept">kept as a note: ${said.leftOver}</p>`;
  return html`<button class="say-one quiet" data-act="keep-left" @click=${keepLeftOver}>not understood; keep as a note of ${label(world().here)}: <i>${said.leftOver}</i></button>`;
}

/** What is going on, and the last act with its undo. */
function stateView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  if (said.onlyPlace) return html`<p class="quiet-note">"done" on the keyboard goes on with ${said.next?.words}</p>`;
  if (said.reading) return html`<p class="quiet-note">${state.engine === 'ready' ? 'reading' : 'the reader is starting; the words are kept'}</p>`;
  if (said.text) return nothing;
  if (!session.lastAct) return html`<p class="quiet-note">Words or shorthand; a tap on a proposal keeps it, nothing is kept without one.</p>`;
  const saving = session.provisional.length > 0;
  return html`<div class="echo last"><span class="echo-last"><span class="act-words">${session.lastAct.words}</span>
      <span class="kept-words" data-kept=${saving ? 'no' : 'yes'}>${saving ? 'saving' : 'saved on this phone'}</span></span>
    ${saving ? nothing : html`<button class="side-key" data-act="undo" @click=${() => undo()}>undo</button>`}</div>`;
}
