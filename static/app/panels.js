/** What the lower part shows instead of the keypad: reasons, parts, a reading, a line's source, more. */
import { html, nothing } from 'lit-html';
import { acknowledge, addNote, finishStructure, markPartly, markSeen, restoreReading, seenAct, strikeReading, unfoldMeasures } from './acts.js';
import { record } from './exam.js';
import { gradeOf, gradeWords, mark } from './marks.js';
import { LESION, folded, neverFolded } from './order.js';
import { state, updateSession } from './state.js';
import { catalogue, label, quantityOf, seenWords, structureOf } from './tables.js';
import { linesAround } from './view-rows.js';
import { windowsView } from './windows.js';

const STRIKE_WHY = ['slip of the finger', 'wrong box', 'wrong side', 'oblique view', 'poor view', 'other'];
const ANSWERS = [
  'measured again, the same',
  'explained by the circumstances',
  'limit does not fit this animal',
  'poor view, repeat later',
  'seen and noted',
];

function close() {
  updateSession({ panel: null });
}

/** @param {any} patch */
function change(patch) {
  updateSession({ panel: { ...state.session?.panel, ...patch } });
}

/** @param {string[]} list @param {string} item */
export function toggled(list, item) {
  return list.includes(item) ? list.filter((one) => one !== item) : [...list, item];
}

/** @param {string} title @param {unknown} content @param {unknown} [end] */
export function panel(title, content, end = nothing) {
  return html`<section class="panel" aria-label=${title}>
    <div class="panel-head"><h2>${title}</h2><button class="panel-close" data-act="close" @click=${close}>back</button></div>
    <div class="panel-body">${content}</div>${end}</section>`;
}

/** @param {string} words @param {() => void} act @param {boolean} [on] */
export function chipButton(words, act, on = false) {
  return html`<button class="choice ${on ? 'on' : ''}" aria-pressed=${on ? 'true' : 'false'} data-choice=${words} @click=${act}>${words}</button>`;
}

/** One tap on a reason keeps it; "several" collects more than one. @param {any} at */
function reasonPanel(at) {
  const reasons = catalogue().not_seen_reasons;
  const title = `${label(at.about)}: ${seenWords(at.seen)}, because of`;
  const pick = (/** @type {string} */ reason) =>
    at.several ? change({ why: toggled(at.why, reason) }) : markSeen(at.about, at.seen, [reason]);
  return panel(
    title,
    html`<div class="choices">${reasons.map((reason) => chipButton(reason, () => pick(reason), at.why.includes(reason)))}
      ${chipButton('several', () => change({ several: !at.several, why: [] }), at.several)}</div>`,
    at.several && at.why.length
      ? html`<button class="answer wide normal" data-act="reasons-done" @click=${() => markSeen(at.about, at.seen, at.why)}>keep: ${at.why.join(', ')}</button>`
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
        chipButton(reason, () => change({ why: toggled(at.why, reason) }), at.why.includes(reason)))}</div>`,
    html`<button class="answer wide normal" data-act="partly-done" ?disabled=${!ready}
      @click=${() => markPartly(structure.id, parts, at.why)}>${ready ? words : 'choose a reason'}</button>`,
  );
}

/** @param {any} at */
function partPanel(at) {
  const known = state.session?.view.states[at.about];
  const why = (/** @type {string} */ seen) => updateSession({ panel: { kind: 'reason', about: at.about, seen, why: [] } });
  return panel(`${label(at.about)}${known ? `: ${seenWords(known.seen)}` : ''}`, html`<div class="choices two">
    ${chipButton('seen', () => markSeen(at.about, 'whole', []))}
    ${chipButton('not seen', () => why('not_seen'))}
    ${chipButton('partly seen', () => why('partly'))}
    ${chipButton('not visible, as expected', () => markSeen(at.about, 'not_visible_expected', []))}
    ${chipButton('removed', () => markSeen(at.about, 'removed', []))}
  </div>`);
}

/** @param {any} at */
function readingPanel(at) {
  const reading = state.session?.view.readings.find((one) => one.id === at.id);
  if (!reading) return nothing;
  const how = [reading.plane, reading.cut, reading.view, reading.recumbency, reading.acquired].filter(Boolean).join(', ').replace(/_/g, ' ');
  const quantity = quantityOf(reading.quantity);
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
  const strike = (/** @type {string} */ why) => {
    updateSession({ panel: null });
    record([{ kind: 'struck', body: { about: at.about, why }, of: [at.id] }], `struck: ${at.words}`);
  };
  return panel(at.words, html`<h3>strike it: it stays readable, and no longer counts</h3>
    <div class="choices">${STRIKE_WHY.map((why) => chipButton(why, () => strike(why)))}</div>`);
}

/** All lines about one thing with limit, group of animals and source; and a way to answer a flag. @param {any} at */
function linePanel(at) {
  const lines = linesAround(at.about);
  return panel(label(at.about), html`<div class="sources">${lines.map((line) => html`
    <article class="source">
      <p>${mark(gradeOf(line), line.kind)} <b>${gradeWords(gradeOf(line))}</b> ${line.text || line.why}</p>
      ${line.limit ? html`<p class="small">limit ${line.limit.lower ? `from ${line.limit.lower} ` : ''}${line.limit.upper ? `to ${line.limit.upper} ` : ''}${line.unit && line.unit !== '1' ? line.unit : ''}${line.limit.class_words ? `, ${line.limit.class_words}` : ''}${line.limit.n ? `, ${line.limit.n} animals` : ''}${line.limit.population ? `: ${line.limit.population}` : ''}</p>` : nothing}
      ${line.source ? html`<p class="small">source: ${line.source}${line.limit?.known ? ` (${line.limit.known})` : ''}</p>` : nothing}
      ${(line.also || []).map((also) => html`<p class="small">also: ${also.words || `${also.id}: ${also.verdict}`}</p>`)}
      ${line.call ? html`<p class="small">${line.call}${line.probability !== null && line.probability !== undefined ? `: probability of being beyond ${line.probability}` : ''}</p>` : nothing}
      ${windowsView(line)}
      ${['outside', 'look_again', 'tell_someone'].includes(line.grade || '') ? html`<div class="choices">${ANSWERS.map((why) => chipButton(why, () => acknowledge(line, why)))}</div>` : nothing}
    </article>`)}</div>`);
}

/** @param {any} at */
function notePanel(at) {
  return panel(`${label(at.about)}: note`, html`
    <label class="small" for="note-text">Free words; the keyboard's own dictation works here.</label>
    <textarea id="note-text" rows="4" .value=${at.text || ''} @input=${(/** @type {any} */ event) => { if (state.session) state.session.panel.text = event.target.value; }}></textarea>`,
    html`<button class="answer wide normal" data-act="note-done" @click=${() => addNote(at.about, state.session?.panel.text || '')}>keep the note</button>`);
}

function morePanel() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const structure = structureOf(session.structure);
  if (!structure) return nothing;
  const hidden = folded(catalogue(), structure, session.view);
  const done = (/** @type {string} */ seen) => finishStructure(structure.id, [seenAct(structure.id, seen, [], false)], `${structure.label}: ${seenWords(seen)}`);
  return panel(`${structure.label}: more`, html`<div class="choices two">
    ${hidden ? chipButton(session.more ? 'fewer measures' : `more measures (${hidden})`, unfoldMeasures) : nothing}
    ${structure.parts.length && !neverFolded(structure) ? chipButton(session.parts ? 'fold the parts' : 'parts one by one', () => updateSession({ parts: !session.parts, panel: null })) : nothing}
    ${chipButton('write a note', () => updateSession({ panel: { kind: 'note', about: structure.id } }))}
    ${neverFolded(structure) ? chipButton('describe the gland', () => updateSession({ panel: { kind: 'describe', chosen: {} } })) : nothing}
    ${chipButton('how it was read', () => updateSession({ panel: { kind: 'how' } }))}
    ${chipButton('measure a lesion', () => updateSession({ panel: { kind: 'lesion' } }))}
    ${chipButton('seen, not called normal', () => done('whole'))}
    ${chipButton('not visible, as expected', () => done('not_visible_expected'))}
    ${chipButton('removed', () => done('removed'))}
  </div>`);
}

/** Circumstances of the next readings here; they travel with each reading. */
function howPanel() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const lists = catalogue().reading_context;
  const set = (/** @type {string} */ key, /** @type {string} */ value) => {
    const { [key]: before, ...others } = session.how;
    updateSession({ how: before === value ? others : { ...others, [key]: value } });
  };
  const group = (/** @type {string} */ key, /** @type {string} */ title, /** @type {string[]} */ values) => html`<h3>${title}</h3>
    <div class="choices">${values.map((value) => chipButton(value.replace(/_/g, ' '), () => set(key, value), session.how[key] === value))}</div>`;
  return panel('The next readings here are', html`
    ${group('cut', 'cut', lists.cut)}${group('view', 'view of this part', ['whole', 'partly'])}
    ${group('recumbency', 'lying', lists.recumbency)}${group('acquired', 'taken from', lists.acquired)}${group('plane', 'plane', lists.plane)}`);
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
    reason: reasonPanel, partly: partlyPanel, part: partPanel, reading: readingPanel, strike: strikePanel,
    line: linePanel, note: notePanel, more: morePanel, how: howPanel, lesion: lesionPanel,
  });
  return views[at.kind] ? views[at.kind](at) : nothing;
}
