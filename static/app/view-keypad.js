/** The own keypad, the big echo in mm and cm, and the four answers under the thumb. */
import { html, nothing } from 'lit-html';
import { echo, erase, goBy, keepReading, press, sayTogether, seenNormal, skipBox, stepBy, takeOffer, togetherWords } from './acts.js';
import { held } from './hand.js';
import { saveAgain, undo } from './record.js';
import { bothUnits, unitWords } from './number.js';
import { claim, oftenNotVisible, together } from './order.js';
import { seenAct, finishStructure } from './acts.js';
import { openSay } from './say.js';
import { keyRow } from './controls.js';
import { saveSettings } from './settings.js';
import { state, updateSession } from './state.js';
import { catalogue, label, quantityOf, structureOf } from './tables.js';
import { lineButton, lineOfAct } from './lines.js';

/** The line above the keys: what is typed, what is asked, what was done. */
export function echoView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  if (session.unsaved) {
    return html`<div class="echo bad" role="alert"><span>${session.unsaved.why}</span>
      <button class="side-key" data-act="save-again" @click=${saveAgain}>try again</button></div>`;
  }
  if (session.asking) return askingView(session.asking);
  if (session.problem) {
    return html`<div class="echo problem"><span class="echo-words">${session.problem}</span>
      ${session.typed ? html`<output class="echo-typed">${session.typed}</output>` : nothing}</div>`;
  }
  return session.typed ? typedView(session.typed) : lastView();
}

/** @param {string} typed */
function typedView(typed) {
  const read = echo();
  if (!read) return html`<div class="echo"><output class="echo-big">${typed}</output></div>`;
  if (read.unit !== 'mm') {
    const unit = read.unit === '1' ? '' : unitWords(read.unit);
    return html`<div class="echo"><output class="echo-big">${read.value} <small>${unit}</small></output></div>`;
  }
  const { mm, cm } = bothUnits(read.value, 'mm');
  return html`<div class="echo"><span class="echo-both"><output class="echo-big" data-mm=${mm}>${mm} <small>mm</small></output>
    <span>${sideWord()}<output class="echo-cm" data-cm=${cm}>${cm} <small>cm</small></output></span></span>
    <span class="steps" role="group" aria-label="a little more or less">${['-1', '-0.1', '+0.1', '+1'].map((by) =>
      html`<button class="step-key" data-step=${by} aria-label="${by} mm" @click=${() => stepBy(by)}>${by.replace('-', '\u2212')}</button>`)}</span></div>`;
}

/** Beside the machine the side is read from a step away, with the value. */
function sideWord() {
  const side = /^(LEFT|RIGHT) /.exec(structureOf(state.session?.structure || '')?.label || '');
  return side ? html`<b class="echo-side">${side[1]}</b>` : nothing;
}

/** @param {{message: string, offers: {value: string, words: string}[]}} asking */
function askingView(asking) {
  return html`<div class="echo asking"><span class="echo-words" data-asking="yes">${asking.message}</span>
    <div class="offers">
      ${asking.offers.map((offer) => html`<button class="offer" data-offer=${offer.value} @click=${() => takeOffer(offer.value)}>${offer.value}</button>`)}
      <button class="offer" data-act="sure" @click=${() => keepReading({ sure: true })}>yes, ${state.session?.typed}</button>
      <button class="offer" @click=${() => updateSession({ asking: null })}>back</button>
    </div></div>`;
}

/** The last act with its undo, and whether it is kept. */
function lastView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const saving = session.provisional.length > 0;
  const whole = session.lastAct ? session.lastAct.words : '';
  const act = session.lastAct ? session.lastAct.first : null;
  const found = state.screen === 'exam' && act ? lineOfAct(act) : null;
  // Beside a line there is room for the value alone; its row stands above.
  const words = found && act ? brief(act) : whole;
  return html`<div class="echo last">
    <span class="echo-last"><span class="act-words ${found ? 'one' : ''}">${words}</span>
      <span class="kept-words" data-kept=${saving ? 'no' : 'yes'}>${saving ? 'saving' : 'saved on this phone'}</span>
      ${found ? lineButton(found.line, found.others) : nothing}</span>
    <div class="side-keys">
      ${session.lastAct && !saving ? html`<button class="side-key" data-act="undo" @click=${() => undo()}>undo</button>` : nothing}
      ${state.screen === 'exam' ? html`<button class="side-key" data-act="say" @click=${openSay}>say or type</button>` : nothing}</div>
    ${state.screen === 'exam' ? html`<button class="side-key onward" data-act="next" aria-label="the next structure" @click=${() => goBy(1)}><span aria-hidden="true">&gt;</span></button>` : nothing}
  </div>`;
}

/** @param {import('./record.js').Act} act a reading, a finding or a reason */
function brief({ kind, body }) {
  if (kind === 'acknowledged') return body.reason;
  if (kind === 'found') return body.finding.replace(/_/g, ' ');
  return `${body.value}${body.unit === '1' ? '' : ` ${body.unit}`}`;
}

/** @param {string} key @param {string} [words] */
function digit(key, words = key) {
  return html`<button class="key" data-key=${key} @click=${() => press(key)}>${words}</button>`;
}

export function keypadView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const quantity = session.row ? quantityOf(session.row) : null;
  if (!quantity) return nothing;
  const length = quantity.unit === 'mm';
  const unit = state.settings.machineUnit;
  return html`<div class="keypad" role="group" aria-label="number keys">
    ${keyRow([digit('7'), digit('8'), digit('9')], html`<button class="key word" data-act="erase" @click=${erase}>erase</button>`)}
    ${keyRow([digit('4'), digit('5'), digit('6')], html`<button class="key word" data-act="unit" ?disabled=${!length} @click=${() => saveSettings({ machineUnit: unit === 'mm' ? 'cm' : 'mm' })}
      >${length ? html`typed in<b>${unit}</b>` : unitWords(quantity.unit)}</button>`)}
    ${keyRow([digit('1'), digit('2'), digit('3')], html`<button class="key word" data-act="skip" @click=${skipBox}>next box</button>`)}
    ${keyRow([digit('.'), digit('0'), html`<button class="key word" data-act="more" @click=${() => updateSession({ panel: { kind: 'more' } })}>more</button>`],
      html`<button class="key keep" data-act="keep" @click=${() => keepReading()}>keep</button>`)}
  </div>`;
}

/** What one sweep shows and one tap may answer; never what an earlier exam found something in, or a note speaks of. */
function sweepHere() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const list = together(catalogue(), session.view, session.structure);
  const sought = (session.judgement?.open || []).filter((line) => line.kind === 'find_again').map((line) => line.structure);
  const noted = session.view.notes.filter((note) => !note.struck).map((note) => note.about);
  return list.some((structure) => sought.includes(structure.id) || noted.includes(structure.id)) ? [] : list;
}

/** The answers about the structure. The button says what it claims. */
export function answersView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const structure = structureOf(session.structure);
  if (!structure) return nothing;
  const keyless = !session.row || !quantityOf(session.row);
  const about = structure.id;
  const expected = oftenNotVisible(structure, session.view);
  const sweep = keyless ? sweepHere() : [];
  return html`
    ${keyless && expected ? html`<button class="answer wide" data-act="expected" @click=${() => finishStructure(about, [seenAct(about, 'not_visible_expected', [], false)], `${label(about)}: not visible, as expected`)}>not visible, as expected</button>` : nothing}
    ${sweep.length ? html`<button class="answer wide together" data-act="together" @click=${() => sayTogether(sweep)}>${togetherWords(sweep, session.view)}</button>` : nothing}
    ${keyless ? html`<button class="answer wide quiet" data-act="more" @click=${() => updateSession({ panel: { kind: 'more' } })}>more: measures, parts, note, circumstances</button>` : nothing}
    <div class="answers ${keyless ? 'tall' : ''}">
      <button class="answer normal" data-act="normal" @click=${seenNormal}>${session.typed ? html`keep ${session.typed}, ` : nothing}${claim(structure, session.view).words}</button>
      <button class="answer" data-act="finding" @click=${() => updateSession({ panel: { kind: 'finding' } })}>finding</button>
      <button class="answer" data-act="partly" @click=${() => updateSession({ panel: { kind: 'partly', parts: [], why: [] } })}>partly</button>
      <button class="answer" data-act="not-seen" @click=${() => held() || updateSession({ panel: { kind: 'reason', about, seen: 'not_seen', why: [] } })}>not seen</button>
    </div>`;
}
