/** What the lower part shows instead of the keypad: reasons, parts, a reading, a line's source, more. */
import { html, nothing } from 'lit-html';
import { addNote, enough, finishStructure, markPartly, markSeen, restoreReading, seenAct, strikeReading, unfoldMeasures } from './acts.js';
import { keepWords, openWords, wordsDone } from './words.js';
import { changePanel as change, chipButton, panel, toggled } from './controls.js';
import { record } from './record.js';
import { howWords } from './circumstances.js';
import { imagesPanel } from './image-number.js';
import { groupsOf } from './panel-describe.js';
import { howPanel, windowLabel } from './panel-how.js';
import { linePanel } from './panel-line.js';
import { watchPanel } from './panel-procedure.js';
import { attachedPanel, clipChoice, clipPanel, photoChoice, toldPanel } from './panel-photo.js';
import { LESION, folded, neverFolded } from './order.js';
import { nextNumber } from './sketch.js';
import { state, updateSession } from './state.js';
import { catalogue, label, quantityOf, reasonWords, seenWords, structureOf } from './tables.js';
import { answerPanel } from './view-asked.js';
import { measureTwice } from './view-twice.js';

const STRIKE_WHY = ['slip of the finger', 'wrong box', 'wrong side', 'oblique view', 'poor view', 'other'];

/** One tap on a reason keeps it; "several" collects more than one. @param {any} at */
function reasonPanel(at) {
  const reasons = catalogue().not_seen_reasons;
  const title = `${label(at.about)}: ${seenWords(at.seen)}, because of`;
  const pick = (/** @type {string} */ reason) =>
    at.several ? change({ why: toggled(at.why, reason) }) : markSeen(at.about, at.seen, [reason]);
  return panel(
    title,
    html`<div class="choices">${reasons.map((reason) => chipButton(reasonWords(reason), () => pick(reason), at.why.includes(reason)))}
      ${chipButton('several', () => change({ several: !at.several, why: [] }), at.several)}</div>`,
    at.several && at.why.length
      ? html`<button class="answer wide normal" data-act="reasons-done" @click=${() => markSeen(at.about, at.seen, at.why)}>keep: ${at.why.map(reasonWords).join(', ')}</button>`
      : nothing,
  );
}

/** @param {any} at */
function partlyPanel(at) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const structure = structureOf(session.structure);
  if (!structure) return nothing;
  const id = (/** @type {string} */ part) => `${structure.id}.${part}`;
  const ready = at.why.length > 0;
  const missing = structure.parts.filter((part) => at.parts.includes(id(part.id)));
  // The button says all that it records: with the missing parts named, the others count as seen. A gland's parts never do.
  const restSeen = missing.length > 0 && missing.length < structure.parts.length && !neverFolded(structure);
  const parts = structure.parts
    .filter((part) => missing.includes(part) || restSeen)
    .map((part) => ({ id: id(part.id), seen: missing.includes(part) ? 'not_seen' : 'whole' }));
  const words = missing.length ? `keep: ${missing.map((part) => part.label).join(', ')} not seen${restSeen ? '; the other parts seen' : ''}` : 'keep: partly, no part named';
  return panel(
    `${structure.label}: partly seen`,
    html`${structure.parts.length ? html`<h3>not seen</h3><div class="choices">${structure.parts.map((part) =>
        chipButton(part.label, () => change({ parts: toggled(at.parts, id(part.id)) }), at.parts.includes(id(part.id))))}</div>` : nothing}
      <h3>because of</h3><div class="choices">${catalogue().not_seen_reasons.map((reason) =>
        chipButton(reasonWords(reason), () => change({ why: toggled(at.why, reason) }), at.why.includes(reason)))}</div>`,
    html`<button class="answer wide normal" data-act="partly-done" ?disabled=${!ready}
      @click=${() => markPartly(structure.id, parts, at.why)}>${ready ? words : 'choose a reason'}</button>`,
  );
}

/** Not seen is what it is mostly opened for: its reasons stand in it. @param {any} at */
function partPanel(at) {
  const known = state.session?.view.states[at.about];
  const why = (/** @type {string} */ seen, more = {}) => updateSession({ panel: { kind: 'reason', about: at.about, seen, why: [], ...more } });
  return panel(`${label(at.about)}${known ? `: ${seenWords(known.seen)}` : ''}`, html`<h3>${seenWords('not_seen')}, because of</h3>
    <div class="choices">${catalogue().not_seen_reasons.map((reason) => chipButton(reasonWords(reason), () => markSeen(at.about, 'not_seen', [reason])))}
      ${chipButton('several', () => why('not_seen', { several: true }))}</div>
    <h3>or</h3><div class="choices two">
    ${chipButton('seen', () => markSeen(at.about, 'whole', []))}
    ${chipButton('partly seen', () => why('partly'))}
    ${chipButton('not visible, as expected', () => markSeen(at.about, 'not_visible_expected', []))}
    ${chipButton('removed', () => markSeen(at.about, 'removed', []))}
  </div>`);
}

/** @param {any} at */
function enoughPanel(at) {
  return panel(`${label(at.about)}: one is enough, because of`, html`<div class="choices">${catalogue().one_reading_reasons.map((reason) =>
    chipButton(reasonWords(reason), () => enough(at.about, reason)))}</div>`);
}

/** @param {any} at */
function readingPanel(at) {
  const reading = state.session?.view.readings.find((one) => one.id === at.id);
  if (!reading) return nothing;
  const quantity = quantityOf(reading.quantity);
  const how = howWords(reading.how, windowLabel(quantity?.structure || '')).join(', ');
  const part = quantity?.part ? `${quantity.structure}.${quantity.part}` : null;
  const title = `${label(reading.quantity)} ${reading.value} ${reading.unit === '1' ? '' : reading.unit}`;
  return panel(
    title,
    html`<p class="small">typed "${reading.typed}" (${reading.typed_unit === '1' ? 'no unit' : reading.typed_unit}) at ${reading.at.slice(11, 16)}${how ? `; ${how}` : ''}</p>
      ${reading.struck
        ? html`<button class="answer wide" data-act="restore" @click=${() => restoreReading(reading.id)}>it counts after all</button>`
        : html`<h3>strike it: it stays readable, and no longer counts</h3>
          <div class="choices">${STRIKE_WHY.map((why) => chipButton(why, () => strikeReading(reading.id, why)))}
            ${part ? chipButton('the part was only partly seen', () => updateSession({ panel: { kind: 'reason', about: part, seen: 'partly', why: [] } })) : nothing}</div>`}`,
  );
}

/** A finding or a note: the only thing to do with it here is to strike it. @param {any} at */
function strikePanel(at) {
  return panel(at.words, strikes(at));
}

/** @param {any} at */
function strikes(at) {
  const strike = (/** @type {string} */ why) => {
    updateSession({ panel: null });
    record([{ kind: 'struck', body: { about: at.about, why }, of: [at.id] }], `struck: ${at.words || label(at.about)}`);
  };
  return html`<h3>strike it: it stays readable, and no longer counts</h3>
    <div class="choices">${STRIKE_WHY.map((why) => chipButton(why, () => strike(why)))}</div>`;
}

/** @param {any} at */
function notePanel(at) {
  return panel(`${label(at.about)}: note`, html`
    <label class="small" for="note-text">Free words; the keyboard's own dictation works here.</label>
    <textarea id="note-text" rows="4" .value=${at.text || ''} @input=${(/** @type {any} */ event) => keepWords(at, event.target.value)}></textarea>
    ${clipChoice(at.about)}`,
    html`<button class="answer wide normal" data-act="note-done" @click=${() => wordsDone(at, () => addNote(at.about, state.session?.panel.text || ''))}>keep the note</button>`);
}

function morePanel() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const structure = structureOf(session.structure);
  if (!structure) return nothing;
  const hidden = folded(catalogue(), structure, session.view);
  const quantity = session.row ? quantityOf(session.row) : null;
  const done = (/** @type {string} */ seen) => finishStructure(structure.id, [seenAct(structure.id, seen, [], false)], `${structure.label}: ${seenWords(seen)}`);
  return panel(`${structure.label}: more`, html`<div class="choices two">
    ${hidden ? chipButton(session.more ? 'fewer measures' : `more measures (${hidden})`, unfoldMeasures) : nothing}
    ${structure.parts.length && !neverFolded(structure) ? chipButton(session.parts ? 'fold the parts' : 'parts one by one', () => updateSession({ parts: !session.parts, panel: null })) : nothing}
    ${photoChoice(structure.id)}
    ${chipButton('write a note', () => openWords({ kind: 'note', about: structure.id }))}
    ${groupsOf(structure.id).length ? chipButton('describe it', () => updateSession({ panel: { kind: 'describe', chosen: {} } })) : nothing}
    ${chipButton('needle procedure', () => updateSession({ panel: { kind: 'procedure' } }))}
    ${neverFolded(structure) ? chipButton('a mass, poles not told apart', wholeMass) : nothing}
    ${chipButton('image numbers', () => updateSession({ panel: { kind: 'images' } }))}
    ${chipButton('how it was read', () => updateSession({ panel: { kind: 'how' } }))}
    ${quantity && !quantity.derived && quantity.structure && !session.typed ? chipButton('measure twice (practice)', () => measureTwice({ quantity: quantity.id, species: session.view.patient.species, back: 'exam' })) : nothing}
    ${chipButton('measure a lesion', () => updateSession({ panel: { kind: 'lesion' } }))}
    ${chipButton('seen, not called normal', () => done('whole'))}
    ${chipButton('not visible, as expected', () => done('not_visible_expected'))}
    ${chipButton('removed', () => done('removed'))}
  </div>`);
}

/** The mass's own axes come first; the poles are then said not to be told apart, and are not asked for. */
function wholeMass() {
  updateSession({ panel: { kind: 'finding', finding: 'mass', shape: 'mass, poles not separable', axes: [], typed: '', number: String(nextNumber()) } });
}

/** Which numbered lesion of this structure the next lesion measures belong to. */
function lesionPanel() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const numbers = [1, 2, 3, 4, 5];
  const start = (/** @type {number} */ number) =>
    updateSession({ panel: null, lesion: `${session.structure}#${number}`, row: LESION[0] });
  return panel(`${label(session.structure)}: which lesion?`, html`<div class="choices">${numbers.map((number) => chipButton(`lesion ${number}`, () => start(number)))}</div>`);
}

/** @returns {unknown} the panel on the screen; the full-height ones live in their own modules */
export function panelView() {
  const at = state.session?.panel;
  if (!at) return nothing;
  const views = /** @type {Record<string, (at: any) => unknown>} */ ({
    reason: reasonPanel, partly: partlyPanel, part: partPanel, enough: enoughPanel, reading: readingPanel, strike: strikePanel,
    line: linePanel, note: notePanel, answer: answerPanel, more: morePanel, how: howPanel, lesion: lesionPanel, images: imagesPanel,
    told: toldPanel, clip: clipPanel, attached: (one) => attachedPanel(one, strikes), watch: (one) => watchPanel(one, strikes),
  });
  return views[at.kind] ? views[at.kind](at) : nothing;
}
