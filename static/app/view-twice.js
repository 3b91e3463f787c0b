/** The screen of measuring twice: which quantity, the pair in hand, and what the pairs say so far. */
import { html, nothing } from 'lit-html';
import { chipButton, keyRow } from './controls.js';
import { NumberProblem, bothUnits, readNumber, unitWords } from './number.js';
import { saveSettings } from './settings.js';
import { state, update } from './state.js';
import { nextPlace, pairsOf, twoPlaces } from './pairs.js';
import { catalogue, label, quantityOf } from './tables.js';
import { atThePractice, change, chooseQuantity, eraseTwice, keepTwice, leaveTwice, openTwice, pressTwice, strikeTwice } from './twice.js';

/** @typedef {import('./types').Structure} Structure */
/** @typedef {{sd: string, df: number, groups: number, repeatability: string, enough: boolean, words: string}} Spread */

/** From the settings or from a quantity; each entry carries its author. @param {{quantity?: string | null, species?: string | null, back: string}} place */
export function measureTwice(place) {
  if (state.settings.author) openTwice(place);
  else update({ screen: 'settings', form: { back: place.back === 'settings' ? 'list' : place.back, whoFirst: true } });
}

export function twiceView() {
  const { quantity } = state.form;
  return html`<div class="page twice" data-twice=${quantity || ''}>
    <div class="bar"><h1>Measure twice</h1><button class="finish" data-act="twice-done" @click=${leaveTwice}>${state.form.entries.length ? 'done' : 'back'}</button></div>
    <p class="notice practice" role="note"><b>Practice.</b> These readings belong to no animal${quantity ? '.' : ': no report, no list, no limit. They teach how far your own repeat readings lie apart.'}</p>
    ${quantity ? measuring(quantity) : choosing()}
  </div>`;
}

/** One reading of a thing that is measured by hand; derived values have no spread of their own. @param {Structure} structure */
function choicesOf(structure) {
  return catalogue().quantities.filter((one) => one.structure === structure.id && !one.derived && one.unit !== '{score}');
}

function choosing() {
  const list = catalogue().structures.filter((structure) => choicesOf(structure).length);
  const open = state.form.structure;
  const chosen = list.find((structure) => structure.id === open);
  return html`<h2>what do you measure?</h2>
    ${chosen
      ? html`<div class="choices two">${choicesOf(chosen).map((one) => chipButton(one.label, () => chooseQuantity(one.id)))}
          ${chipButton('another structure', () => change({ structure: null }))}</div>`
      : html`<div class="choices three">${list.map((structure) => chipButton(structure.label, () => change({ structure: structure.id })))}</div>`}`;
}

/** @param {string} quantity */
function measuring(quantity) {
  const pairs = pairsOf(state.form.entries);
  const { pair, reading } = nextPlace(pairs);
  return html`<h2>${label(quantity)}</h2>
    <p class="asked" data-pair=${pair} data-reading=${reading}>pair ${pair}, reading ${reading} of 2${reading === 2 ? '. Unfreeze, find it again, take a new image: the first reading is covered until then.' : ''}</p>
    ${taken(pairs)}
    ${results(quantity)}
    <div class="lower">${echoLine()}${keys(quantity)}</div>`;
}

/** Pairs that are complete; the newest first. The first of an open pair is covered: nobody should be led by it. @param {import('./pairs.js').Pair[]} pairs */
function taken(pairs) {
  const whole = pairs.filter((one) => one.readings.length > 1).reverse();
  const any = pairs.length > 0;
  return html`${whole.slice(0, 4).map((one) => html`<p class="small" data-taken=${one.pair}>pair ${one.pair}: ${one.readings.map((reading) => reading.body.value).join(' and ')} ${unitOf(one.readings[0].body.unit)}</p>`)}
    ${whole.length > 4 ? html`<p class="small">and ${whole.length - 4} before</p>` : nothing}
    ${any ? html`<button class="answer wide quiet" data-act="twice-strike" ?disabled=${state.form.busy} @click=${strikeTwice}>strike the last reading</button>` : nothing}`;
}

/** @param {string} quantity */
function results(quantity) {
  const { result } = state.form;
  const known = atThePractice(quantity);
  const unit = quantityOf(quantity)?.unit || '1';
  const rows = /** @type {[string, string, Spread | null][]} */ ([
    ['here', 'these pairs', result?.here || null],
    ['phone', 'all yours on this phone', result?.all || null],
    ['own', 'yours at the practice', known?.own || null],
    ['all', 'everybody at the practice', known?.everyone || null],
  ]).filter(([, , row]) => row);
  if (!rows.length) return html`<p class="small">Nothing is known of this spread yet. A pair is two readings of the same thing in the same animal, each from a new image; pairs from several animals say more than many from one.</p>`;
  return html`<dl class="spreads">${rows.map(([id, words, row]) => row ? html`<dt>${words}</dt>
    <dd data-spread=${id}>SD ${twoPlaces(row.sd)}, ${row.df} degrees of freedom, repeatability coefficient ${twoPlaces(row.repeatability)}${unit === '1' ? '' : ` ${unitWords(unit)}`}<br><span class="small">${row.words}</span></dd>` : nothing)}</dl>`;
}

/** @param {string} unit */
function unitOf(unit) {
  return unit === '1' ? '' : unitWords(unit);
}

function echoLine() {
  const { typed, problem, asking, quantity } = state.form;
  if (asking) {
    return html`<div class="echo asking"><span class="echo-words">${asking.message}</span><div class="offers">
      ${asking.offers.map((/** @type {{value: string}} */ offer) => html`<button class="offer" data-offer=${offer.value} @click=${() => take(offer.value)}>${offer.value}</button>`)}
      <button class="offer" data-act="sure" @click=${() => keepTwice(true)}>yes, ${typed}</button></div></div>`;
  }
  if (problem) return html`<div class="echo problem"><span class="echo-words" role="alert">${problem}</span>${typed ? html`<output class="echo-typed">${typed}</output>` : nothing}</div>`;
  const known = quantityOf(quantity);
  const read = typed && known ? echoed(typed, known.unit) : null;
  if (read && known?.unit === 'mm') {
    const { mm, cm } = bothUnits(read, 'mm');
    return html`<div class="echo"><output class="echo-big">${mm} <small>mm</small></output><output class="echo-cm">${cm} <small>cm</small></output></div>`;
  }
  return html`<div class="echo"><output class="echo-big">${typed}</output></div>`;
}

/** The typed text in the catalogue's unit; while it is no number yet, nothing. @param {string} typed @param {string} unit */
function echoed(typed, unit) {
  try {
    return readNumber(typed.replace(/[.,]$/, ''), state.settings.machineUnit, unit).value;
  } catch (error) {
    if (error instanceof NumberProblem) return null;
    throw error;
  }
}

/** Another reading of the digits: it stands in the box, in the machine's unit, to be kept. @param {string} value */
function take(value) {
  const cm = state.settings.machineUnit === 'cm' && quantityOf(state.form.quantity)?.unit === 'mm';
  change({ typed: cm ? bothUnits(value, 'mm').cm : value, asking: null });
}

/** @param {string} quantity */
function keys(quantity) {
  const unit = state.settings.machineUnit;
  const length = quantityOf(quantity)?.unit === 'mm';
  const key = (/** @type {string} */ name) => html`<button class="key" data-key=${name} @click=${() => pressTwice(name)}>${name}</button>`;
  return html`<div class="keypad" role="group" aria-label="number keys">
    ${keyRow(['7', '8', '9'].map(key), html`<button class="key word" data-act="erase" @click=${eraseTwice}>erase</button>`)}
    ${keyRow(['4', '5', '6'].map(key), html`<button class="key word" data-act="unit" ?disabled=${!length} @click=${() => saveSettings({ machineUnit: unit === 'mm' ? 'cm' : 'mm' })}>${length ? html`typed in<b>${unit}</b>` : unitWords(quantityOf(quantity)?.unit || '1')}</button>`)}
    ${keyRow(['1', '2', '3'].map(key), html`<span></span>`)}
    ${keyRow([...['.', '0'].map(key), html`<span></span>`], html`<button class="key keep" data-act="keep" ?disabled=${state.form.busy} @click=${() => keepTwice()}>keep</button>`)}</div>`;
}
