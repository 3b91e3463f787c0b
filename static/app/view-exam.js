/** The exam screen: who is on the table, where the hand is, the rows, and the keys under the thumb. */
import { html, nothing } from 'lit-html';
import { goBy, openSheet } from './acts.js';
import { chip } from './chip.js';
import { helpLine } from './help.js';
import { describePanel } from './panel-describe.js';
import { findingPanel } from './panel-finding.js';
import { patientWords } from './who.js';
import { howStrip } from './panel-how.js';
import { procedurePanel } from './panel-procedure.js';
import { sayPanel } from './panel-say.js';
import { panelView } from './panels.js';
import { progress } from './order.js';
import { state, update } from './state.js';
import { catalogue, quantityOf, seenWords, structureIdOf, structureOf } from './tables.js';
import { askedView } from './view-asked.js';
import { answersView, echoView, keypadView } from './view-keypad.js';
import { rowsView } from './view-rows.js';

export function topView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const { patient, question } = session.view;
  const chip = session.view.fields['exam.chip'];
  const { done, of } = progress(catalogue(), session.view);
  return html`<header class="top">
    <button class="who" data-act="animal" @click=${() => update({ screen: 'animal', form: null })}>
      <span class="who-line"><b>${patient.name || 'no name'}</b> ${patientWords(patient)}</span>
      <span class="who-asked">${chip === 'mismatch' ? html`<b class="wrong">chip does NOT match the record</b>` : question.text ? `asked: ${question.text}` : 'no question written'}</span>
    </button>
    <span class="progress" data-done=${done} data-of=${of}>${done} of ${of}</span>
  </header>`;
}

function placeView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const structure = structureOf(session.structure);
  const known = session.view.states[session.structure];
  const words = known ? (known.normal ? 'seen, normal' : seenWords(known.seen)) : '';
  return html`<nav class="place">
    <button class="step" data-act="previous" aria-label="the structure before" @click=${() => goBy(-1)}><span aria-hidden="true">&lt;</span></button>
    <button class="here" data-act="all" @click=${() => update({ screen: 'all' })}>
      <span class="here-name ${(structure?.label.length || 0) > 13 ? 'long' : ''}" data-structure=${session.structure}>${structure?.label}</span>
      <span class="here-state">${words || 'all'}</span>
    </button>
    <button class="step scroll-on" hidden aria-label="more rows" @click=${scrollOn}><span aria-hidden="true">\u2195</span></button>
  </nav>`;
}

/** Nothing is compared with what is not here yet, and that is said. */
function comingNote() {
  return state.sync.coming ? html`<p class="quiet-note" data-coming>earlier exams may still be coming; what is here is compared with them then</p>` : nothing;
}

/** An exam that was finished can still take entries; they are kept as what they are. */
function lateNote() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  if (session.view.signed) return html`<p class="quiet-note">signed already: what you add now is kept as arrived after signing</p>`;
  return session.view.closed ? html`<p class="quiet-note">finished already: what you add now is kept as added later</p>` : nothing;
}

function engineNote() {
  if (state.engine === 'starting') return html`<p class="quiet-note">limits are starting; what you type is kept meanwhile</p>`;
  const silent = state.engine === 'failed' || state.engineWords;
  return silent ? html`<p class="quiet-note" data-limits="silent">limits are not compared at the moment; everything is kept (why: see settings)</p>` : nothing;
}

/** A tap instead of a swipe where rows do not fit. */
function scrollOn() {
  const body = document.querySelector('.rows');
  if (!body) return;
  const atEnd = body.scrollTop + body.clientHeight >= body.scrollHeight - 4;
  body.scrollTop = atEnd ? 0 : body.scrollTop + Math.max(body.clientHeight - 60, body.clientHeight / 2);
}

export function examView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const { panel } = session;
  const tall = panel && ['finding', 'describe', 'line', 'how', 'partly', 'say', 'procedure', 'watch'].includes(panel.kind);
  const keys = session.row && quantityOf(session.row);
  const assumed = (session.judgement?.assumed || []).filter((one) => structureIdOf(one.about) === session.structure);
  const sentence = session.judgement?.sentences[session.structure];
  return html`<div class="exam ${tall ? 'tall-panel' : ''}">
    ${topView()}
    <div class="bar">${chip()}<button class="finish" data-act="open-sheet" @click=${openSheet}>before you lift</button></div>
    ${placeView()}
    ${tall ? nothing : html`<div class="rows">${helpLine('exam')}${lateNote()}${comingNote()}${askedView()}${rowsView()}${assumed.map((one) => html`<p class="quiet-note">assumed: ${one.text}</p>`)}
        ${sentence ? html`<p class="quiet-note" data-sentence=${session.structure}>in the report: ${sentence}</p>` : nothing}${engineNote()}</div>`}
    <div class="lower">
      ${panel ? html`${session.unsaved ? echoView() : nothing}${panelOf(panel)}` : html`${keys ? howStrip() : nothing}${echoView()}${keys ? keypadView() : nothing}${answersView()}`}
    </div>
  </div>`;
}

/** @param {any} panel */
function panelOf(panel) {
  if (panel.kind === 'finding') return findingPanel(panel);
  if (panel.kind === 'describe') return describePanel(panel);
  if (panel.kind === 'procedure') return procedurePanel(panel);
  if (panel.kind === 'say') return sayPanel();
  return panelView();
}

/** After drawing: the row in hand is in sight, and the scroll button is there only when needed. */
export function afterExam() {
  const body = document.querySelector('.rows');
  const button = /** @type {HTMLElement | null} */ (document.querySelector('.scroll-on'));
  if (button) button.hidden = !body || body.scrollHeight <= body.clientHeight + 4;
  if (!body) return;
  const mark = `${state.session?.structure}|${state.session?.row}|${state.session?.judged}`;
  if (body.getAttribute('data-shown') === mark) return;
  body.setAttribute('data-shown', mark);
  if (!state.session?.row) body.scrollTop = 0;
  body.querySelector('.row.current')?.scrollIntoView({ block: 'nearest', behavior: 'instant' });
}
