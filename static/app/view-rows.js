/** The rows of a structure: measures with their boxes, parts with their state, one quiet line under a value. */
import { html, nothing } from 'lit-html';
import { chooseRow, markSeen } from './acts.js';
import { screenRows } from './hand.js';
import { dayWords } from './dates.js';
import { contextAbout, lineButton, linesAbout, linesOf } from './lines.js';
import { gradeOf, gradeWords, mark } from './marks.js';
import { oneIsEnough, readingsOf, wanted as wantedOf } from './order.js';
import { attachedRows } from './panel-photo.js';
import { procedureWords } from './panel-procedure.js';
import { soughtHere } from './sketch.js';
import { state, updateSession } from './state.js';
import { label, seenWords, structureOf, reasonWords, soft } from './tables.js';

/** @typedef {import('./types').Line} Line */

const LOUD = ['tell_someone', 'outside', 'look_again'];

/** The gravest line of a row, in full when it asks for something. @param {string} about */
function lineFor(about) {
  const lines = linesAbout(about);
  return lines.length && LOUD.includes(gradeOf(lines[0])) ? lineButton(lines[0], lines.length - 1) : nothing;
}

/** A quiet line of a row is a mark and a word; its text stands under the value just kept, and on tap. @param {string} about */
function rowMark(about) {
  const lines = linesAbout(about);
  if (!lines.length || LOUD.includes(gradeOf(lines[0]))) return nothing;
  const grade = gradeOf(lines[0]);
  return html`<button class="row-mark" data-about=${about} data-kind=${lines[0].kind || lines[0].why || ''}
    @click=${() => updateSession({ panel: { kind: 'line', about } })}>${mark(grade, lines[0].kind)} ${gradeWords(grade)}</button>`;
}

/** Lines that belong to no row: the gland as a whole, a derived value, a finding. @param {Set<string>} shown */
function otherLines(shown) {
  const session = state.session;
  if (!session) return nothing;
  /** @type {Map<string, Line[]>} */
  const groups = new Map();
  for (const line of linesOf(session.structure)) {
    if (!shown.has(line.about)) groups.set(line.about, [...(groups.get(line.about) || []), line]);
  }
  return [...groups].map(([about, lines]) => html`<div class="row whole" data-row=${about}>
    <div class="row-head"><span class="label">${shortLabel(about)}</span>${earlierOf(about)}${meanOf(about)}</div>
    ${lineButton(lines[0], lines.length - 1)}
  </div>`);
}

/** @param {string} about */
function shortLabel(about) {
  const structure = structureOf(state.session?.structure || '');
  const words = label(about);
  return structure && words.startsWith(`${structure.label}, `) ? words.slice(structure.label.length + 2) : words;
}

/** Mean and spread from the engine; nothing is hidden behind them, the readings stand beside. @param {string} quantity */
function meanOf(quantity) {
  const value = state.session?.judgement?.values.find((one) => one.quantity === quantity);
  if (!value) return nothing;
  const unit = value.unit === '1' ? '' : ` ${value.unit}`;
  if (value.derived) return html`<span class="calc">${value.value}${unit}</span>`;
  if (value.n < 2) return nothing;
  return html`<span class="calc">mean ${value.value}, spread ${value.spread}</span>`;
}

/** The last exam's value, only once a reading is in: nobody should be led by it. @param {string} quantity */
function earlierOf(quantity) {
  const value = state.session?.judgement?.values.find((one) => one.quantity === quantity);
  if (!value?.earlier) return nothing;
  const { earlier } = value;
  return html`<span class="before">last ${earlier.value}, ${dayWords(earlier.date)}</span>`;
}

/** What moves the row's value; words that stand under a row above are not said again. @param {import('./order.js').ScreenRow} row @param {import('./order.js').ScreenRow[]} before */
function movesOf(row, before) {
  const said = new Set(contextAbout(before.map((one) => one.id)).map((one) => one.text));
  return contextAbout([row.id]).filter((one) => !said.has(one.text));
}

/** @param {import('./order.js').ScreenRow} row @param {number} place @param {import('./order.js').ScreenRow[]} list */
function measureRow(row, place, list) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const current = session.row === row.id;
  const kept = readingsOf(session.view, row.id, row.id.startsWith('lesion.') ? session.lesion : null);
  const wanted = row.quantity ? wantedOf(row.quantity, session.view) : 1;
  const counted = kept.filter((reading) => !reading.struck).length;
  const empty = Math.max(1, wanted - counted);
  const moves = counted ? movesOf(row, list.slice(0, place)) : [];
  return html`<div class="row ${current ? 'current' : ''}" data-row=${row.id}>
    <div class="boxes">
      <div class="label" @click=${() => chooseRow(row.id)}><span>${soft(row.label)}</span>${counted ? meanOf(row.id) : nothing}</div>
      <div class="slots">
        ${kept.map((reading) => keptBox(reading))}
        ${Array.from({ length: empty }, (_, slot) => emptyBox(row, current && slot === 0, counted + slot >= wanted))}
        ${current && counted === 1 && wanted > 1 && !session.typed ? html`<button class="part-state" data-enough=${row.id} @click=${() => updateSession({ panel: { kind: 'enough', about: row.id } })}>one is enough</button>` : nothing}
        ${asksPart(row, counted) ? partButton(`${session.structure}.${row.part}`, counted > 0) : nothing}
      </div>
    </div>
    ${counted ? html`<div class="row-foot">${rowMark(row.id)}${enoughWords(row.id, counted)}${earlierOf(row.id)}</div>` : nothing}
    ${lineFor(row.id)}
    ${moves.map((one) => html`<button class="moves" data-moves=${row.id} @click=${() => updateSession({ panel: { kind: 'line', about: row.id } })}><span>moves this value: ${one.text}</span></button>`)}
  </div>`;
}

/** @param {string} about @param {number} counted */
function enoughWords(about, counted) {
  const why = counted === 1 && state.session ? oneIsEnough(state.session.view, about) : null;
  return why ? html`<span class="before" data-one=${about}>one reading: ${reasonWords(why)}</span>` : nothing;
}

/** @param {import('./types').Reading} reading */
function keptBox(reading) {
  const saving = reading.id.startsWith('saving-');
  const long = reading.value.length > 4 ? 'long' : '';
  return html`<button class="box kept ${reading.struck ? 'struck' : ''} ${saving ? 'saving' : ''} ${long}"
      aria-label="${reading.struck ? 'struck reading' : 'reading'} ${reading.value} ${reading.unit}"
      @click=${() => updateSession({ panel: { kind: 'reading', id: reading.id } })}>${reading.value}</button>`;
}

/** @param {import('./order.js').ScreenRow} row @param {boolean} active @param {boolean} extra */
function emptyBox(row, active, extra) {
  const typed = active ? state.session?.typed || '' : '';
  return html`<button class="box ${active ? 'active' : ''} ${extra ? 'extra' : ''} ${typed.length > 4 ? 'long' : ''}" aria-label="${row.label}, next reading"
    @click=${() => chooseRow(row.id)}>${typed || (extra && !active ? '+' : '')}</button>`;
}

/** A reading says that the part was seen; another state stays readable beside it. @param {import('./order.js').ScreenRow} row @param {number} counted */
function asksPart(row, counted) {
  if (!row.part || row.quantity?.core !== true) return false;
  const known = state.session?.view.states[`${state.session.structure}.${row.part}`];
  return known ? known.seen !== 'whole' || counted === 0 : counted === 0;
}

/** The state of a part that also has a measure: "not seen" is one tap away. @param {string} about @param {boolean} read */
function partButton(about, read) {
  const known = state.session?.view.states[about];
  const words = known ? seenWords(known.seen) : read ? 'seen' : 'not seen?';
  return html`<button class="part-state ${known ? 'said' : ''}" data-part=${about}
    @click=${() => updateSession({ panel: { kind: 'part', about } })}>${words}</button>`;
}

/** @param {import('./order.js').ScreenRow} row */
function partRow(row) {
  const known = state.session?.view.states[row.id];
  const reasons = known?.why.length ? ` (${known.why.map(reasonWords).join(', ')})` : '';
  return html`<div class="row part" data-row=${row.id}>
    <span class="label">${soft(row.label)}</span>
    ${known
      ? html`<button class="part-state said" @click=${() => openPart(row.id)}>${seenWords(known.seen)}${reasons}</button>`
      : html`<button class="part-seen" data-seen=${row.id} @click=${() => markSeen(row.id, 'whole', [])}>seen</button>
          <button class="part-other" data-other=${row.id} @click=${() => openPart(row.id)}>other</button>`}
  </div>`;
}

/** @param {string} about */
function openPart(about) {
  updateSession({ panel: { kind: 'part', about } });
}

/** What an earlier exam found here and nobody has described today. */
function findAgain() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const name = `${label(session.structure)}, `;
  const again = (/** @type {any} */ { finding, number, site }) => ({ kind: 'finding', finding, number: number ? String(number) : '1', site: site || undefined, axes: [], typed: '' });
  return soughtHere().map((line) => html`<button class="row again" data-again=${session.structure} @click=${() => updateSession({ panel: again(line) })}>
    <span>found before: ${line.text?.startsWith(name) ? line.text.slice(name.length) : line.text}</span></button>`);
}

/** How it was reached last time, so that it is reached so again; no value of then. */
function lastTime() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const told = (session.judgement?.last_time || []).find((one) => one.structure === session.structure);
  return told ? html`<p class="quiet-note last-time" data-last-time=${told.structure}>last time (${dayWords(told.date)}): ${told.words}</p>` : nothing;
}

/** The same lesion then and now. @param {import('./types').Finding} finding */
function sizesOf(finding) {
  const known = (state.session?.judgement?.lesions || []).find(
    (one) => one.structure === finding.structure && one.finding === finding.finding && (one.number || 1) === (finding.number || 1),
  );
  return known ? html`<small class="sizes">${known.words}</small>` : nothing;
}

/** Findings and notes of the structure, each with a way to strike it. */
function recorded() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const findings = session.view.findings.filter((one) => one.structure === session.structure && !one.struck);
  const notes = session.view.notes.filter((one) => one.about === session.structure && !one.struck);
  return html`${findings.map((one) => html`<button class="row said-row" @click=${() => updateSession({ panel: { kind: 'strike', id: one.id, about: one.structure, words: findingWords(one) } })}>
      <span class="label">finding</span><span>${findingWords(one)}${sizesOf(one)}</span></button>`)}
    ${notes.map((one) => html`<button class="row said-row" @click=${() => updateSession({ panel: { kind: 'strike', id: one.id, about: one.about, words: one.text } })}>
      <span class="label">note</span><span>${one.text}</span></button>`)}${needleRows(session.structure)}${attachedRows(session.structure)}`;
}

/** Procedures of the structure and its parts. @param {string} structure */
function needleRows(structure) {
  const here = (state.session?.view.procedures || []).filter((one) => one.about === structure || one.about.startsWith(`${structure}.`));
  return here.map((one) => html`<button class="row said-row" data-procedure=${one.procedure} @click=${() => updateSession({ panel: { kind: 'watch', id: one.id } })}>
    <span class="label">needle</span><span>${procedureWords(one)}${one.watched.map((words) => html`<br>${words}`)}</span></button>`);
}

/** @param {import('./types').Finding} finding */
export function findingWords(finding) {
  const size = finding.dimensions?.length ? ` ${finding.dimensions.join(' x ')} ${finding.unit || 'mm'}` : '';
  const vessel = finding.vessel ? `, ${finding.vessel.id.replace(/_/g, ' ')}: ${finding.vessel.state}` : '';
  const number = finding.number ? ` ${finding.number}` : '';
  return `${finding.finding.replace(/_/g, ' ')}${number}${size}${finding.site ? `, ${finding.site}` : ''}${finding.part ? `, ${finding.part.replace(/_/g, ' ')}` : ''}${vessel}${finding.shape ? `, ${finding.shape}` : ''}${finding.text ? `: ${finding.text}` : ''}`;
}

export function rowsView() {
  const list = screenRows();
  // A part's row has no line of its own: what is said of a part stands with the gland's lines, the graver first.
  const shown = new Set(list.filter((row) => row.kind === 'measure').map((row) => row.id));
  const measured = list.filter((row) => row.kind === 'measure');
  const parts = list.filter((row) => row.kind === 'part');
  const rowOf = (/** @type {import('./order.js').ScreenRow} */ row) => measureRow(row, measured.indexOf(row), measured);
  // What the core readings say together (a gland's greatest thickness, its other side) stands right below them.
  const core = measured.filter((row) => row.quantity?.core);
  const rest = measured.filter((row) => !row.quantity?.core);
  return html`${lastTime()}${findAgain()}${core.map(rowOf)}${otherLines(shown)}${rest.map(rowOf)}${parts.map(partRow)}${recorded()}`;
}
