/** The rows of a structure: measures with their boxes, parts with their state, one quiet line under a value. */
import { html, nothing } from 'lit-html';
import { chooseRow, markSeen } from './acts.js';
import { screenRows } from './exam.js';
import { gradeOf, gradeWords, graverFirst, mark } from './marks.js';
import { readingsOf } from './order.js';
import { state, updateSession } from './state.js';
import { label, quantityOf, seenWords, structureIdOf, structureOf } from './tables.js';

/** @typedef {import('./types').Line} Line */

/** All lines of the judgement for one structure, the graver first. @param {string} structure @returns {Line[]} */
export function linesOf(structure) {
  const judgement = state.session?.judgement;
  if (!judgement) return [];
  const all = [...judgement.flags, ...judgement.judged, ...judgement.silent];
  return graverFirst(all.filter((line) => line.structure === structure));
}

/** One line: mark, word, text; a tap opens its source. @param {Line} line @param {number} others */
export function lineButton(line, others) {
  const grade = gradeOf(line);
  const done = state.session?.view.acknowledged.some((one) => one.about === line.about && one.flag === line.kind);
  return html`<button class="line line-${grade}" data-about=${line.about} data-kind=${line.kind || line.why || ''}
      @click=${() => updateSession({ panel: { kind: 'line', about: line.about } })}>
    ${mark(grade, line.kind)}
    <span><b>${gradeWords(grade)}${done ? ', answered' : ''}</b> ${line.text || line.why}${line.call && line.grade ? html` <small>${line.call}</small>` : nothing}${others ? html` <i>+${others}</i>` : nothing}</span>
  </button>`;
}

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

/** @param {string} about */
function linesAbout(about) {
  const session = state.session;
  return session ? linesOf(session.structure).filter((line) => line.about === about) : [];
}

/** Lines about a thing, what it was derived from and what was derived from it. @param {string} about */
export function linesAround(about) {
  const from = quantityOf(about)?.derived?.of || [];
  return linesOf(structureIdOf(about) || '').filter(
    (line) => line.about === about || from.includes(line.about) || (quantityOf(line.about)?.derived?.of || []).includes(about),
  );
}

/**
 * The line for what was kept last: for a reading its own, or that of a value derived from it (a gland's greatest
 * thickness); for a finding what it makes worth telling.
 * @param {import('./exam.js').Act} act @returns {{line: Line, others: number} | null}
 */
export function lineOfAct({ kind, body }) {
  const lines = kind === 'read' ? linesOfReading(body.about) : kind === 'found' ? linesOfFinding(body) : [];
  return lines.length ? { line: lines[0], others: lines.length - 1 } : null;
}

/** @param {string} quantity */
function linesOfReading(quantity) {
  const structure = quantityOf(quantity)?.structure;
  if (!structure) return [];
  return linesOf(structure).filter((line) => line.about === quantity || (quantityOf(line.about)?.derived?.of || []).includes(quantity));
}

/** @param {Record<string, any>} body of a finding */
function linesOfFinding(body) {
  const places = [...new Set([body.about, body.vessel?.id].filter(Boolean))];
  return graverFirst(places.flatMap((place) => linesOf(place))).filter((line) => line.kind === 'alert');
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
  return html`<span class="before">last ${earlier.value}, ${shortDate(earlier.date)}</span>`;
}

/** "16 Nov", with the year when it is not this one. @param {string} date */
function shortDate(date) {
  const [year, month, day] = date.split('-').map(Number);
  const name = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'][month - 1];
  return year === new Date().getFullYear() ? `${day} ${name}` : `${day} ${name} ${year}`;
}

/** @param {import('./order.js').ScreenRow} row */
function measureRow(row) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const current = session.row === row.id;
  const kept = readingsOf(session.view, row.id, row.id.startsWith('lesion.') ? session.lesion : null);
  const wanted = row.quantity ? row.quantity.readings : 1;
  const counted = kept.filter((reading) => !reading.struck).length;
  const empty = Math.max(1, wanted - counted);
  // A gland's rows are many: what belongs to a pole stands beside its boxes, so that the parts stay in sight.
  const tight = session.structure.startsWith('adrenal.');
  return html`<div class="row ${current ? 'current' : ''}" data-row=${row.id}>
    <div class="boxes">
      <div class="label" @click=${() => chooseRow(row.id)}><span>${row.label}</span>
        ${tight && counted ? html`${meanOf(row.id)}<span class="row-foot">${rowMark(row.id)}${earlierOf(row.id)}</span>` : nothing}</div>
      ${kept.map((reading) => keptBox(reading))}
      ${Array.from({ length: empty }, (_, place) => emptyBox(row, current && place === 0, counted + place >= wanted))}
      ${asksPart(row, counted) ? partButton(`${session.structure}.${row.part}`, counted > 0) : nothing}
    </div>
    ${counted && !tight ? html`<div class="row-foot">${rowMark(row.id)}${earlierOf(row.id)}${meanOf(row.id)}</div>` : nothing}
    ${lineFor(row.id)}
  </div>`;
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
  const reasons = known?.why.length ? ` (${known.why.join(', ')})` : '';
  return html`<div class="row part" data-row=${row.id}>
    <span class="label">${row.label}</span>
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

/** Findings and notes of the structure, each with a way to strike it. */
function recorded() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const findings = session.view.findings.filter((one) => one.structure === session.structure && !one.struck);
  const notes = session.view.notes.filter((one) => one.about === session.structure && !one.struck);
  return html`${findings.map((one) => html`<button class="row said-row" @click=${() => updateSession({ panel: { kind: 'strike', id: one.id, about: one.structure, words: findingWords(one) } })}>
      <span class="label">finding</span><span>${findingWords(one)}</span></button>`)}
    ${notes.map((one) => html`<button class="row said-row" @click=${() => updateSession({ panel: { kind: 'strike', id: one.id, about: one.about, words: one.text } })}>
      <span class="label">note</span><span>${one.text}</span></button>`)}`;
}

/** @param {import('./types').Finding} finding */
export function findingWords(finding) {
  const size = finding.dimensions?.length ? ` ${finding.dimensions.join(' x ')} ${finding.unit || 'mm'}` : '';
  const vessel = finding.vessel ? `, ${finding.vessel.id.replace(/_/g, ' ')}: ${finding.vessel.state}` : '';
  const number = finding.number ? ` ${finding.number}` : '';
  return `${finding.finding.replace(/_/g, ' ')}${number}${size}${finding.part ? `, ${finding.part.replace(/_/g, ' ')}` : ''}${vessel}${finding.shape ? `, ${finding.shape}` : ''}${finding.text ? `: ${finding.text}` : ''}`;
}

export function rowsView() {
  const list = screenRows();
  const shown = new Set(list.map((row) => row.id));
  const measured = list.filter((row) => row.kind === 'measure');
  const parts = list.filter((row) => row.kind === 'part');
  return html`${measured.map(measureRow)}${parts.map(partRow)}${otherLines(shown)}${recorded()}`;
}
