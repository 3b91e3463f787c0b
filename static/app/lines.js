/** The lines of the judgement, looked up for a row, a value or an act; and one line as a control. */
import { html, nothing } from 'lit-html';
import { answerOf, asksForReason } from './answers.js';
import { gradeOf, gradeWords, graverFirst, mark } from './marks.js';
import { state, updateSession } from './state.js';
import { inputsOf, quantityOf, structureIdOf } from './tables.js';

/** @typedef {import('./types').Line} Line */

/** All lines of the judgement for one structure, the graver first. @param {string} structure @returns {Line[]} */
export function linesOf(structure) {
  const judgement = state.session?.judgement;
  if (!judgement) return [];
  const all = [...judgement.flags, ...judgement.judged, ...judgement.silent];
  return graverFirst(all.filter((line) => line.structure === structure));
}

/** The reason that a person gave for a line, as long as nothing came after it. @param {Line} line */
export function reasonFor(line) {
  const view = state.session?.view;
  return view ? answerOf(line, view, inputsOf) : null;
}

/** What moves these values without disease, each thing once. @param {string[]} abouts */
export function contextAbout(abouts) {
  const rows = (state.session?.judgement?.context || []).filter((one) => abouts.includes(one.about));
  return rows.filter((one, place) => rows.findIndex((other) => other.text === one.text) === place);
}

/** The text without the grade word that stands before it. @param {Line} line */
export function lineText(line) {
  const text = line.text || line.why || '';
  const word = `${gradeWords(gradeOf(line))}: `;
  return text.startsWith(word) ? text.slice(word.length) : text;
}

/** What the spread of the readings leaves of the verdict; never in place of it. @param {Line} line */
export function callWords(line) {
  const call = !line.call || !line.grade ? '' : line.call === 'spread not known' ? line.call : `with spread: ${line.call}`;
  return [call, line.sources_differ ? 'sources differ' : ''].filter(Boolean).join('; ');
}

/** One line: mark, word, text; a tap opens its source. @param {Line} line @param {number} others */
export function lineButton(line, others) {
  const grade = gradeOf(line);
  const done = Boolean(reasonFor(line));
  return html`<button class="line line-${grade}" data-about=${line.about} data-kind=${line.kind || line.why || ''}
      @click=${() => updateSession({ panel: { kind: 'line', about: line.about } })}>
    ${mark(grade, line.kind, done)}
    <span><b>${gradeWords(grade)}${done ? ', answered' : ''}${asksForReason(line) ? '' : ':'}</b> ${lineText(line)}${callWords(line) ? html` <small>${callWords(line)}</small>` : nothing}${others ? html` <i>+${others}</i>` : nothing}</span>
  </button>`;
}

/** @param {string} about */
export function linesAbout(about) {
  const session = state.session;
  return session ? linesOf(session.structure).filter((line) => line.about === about) : [];
}

/** Lines about a thing, what it was derived from and what was derived from it. @param {string} about */
export function linesAround(about) {
  const from = inputsOf(about);
  return linesOf(structureIdOf(about) || '').filter(
    (line) => line.about === about || from.includes(line.about) || inputsOf(line.about).includes(about),
  );
}

/**
 * The line for what was kept last: for a reading its own, or that of a value derived from it (a gland's greatest
 * thickness); for a finding what it makes worth telling; for a reason the line it was given for.
 * @param {import('./record.js').Act} act @returns {{line: Line, others: number} | null}
 */
export function lineOfAct({ kind, body }) {
  const lines = kind === 'read' ? linesOfReading(body.about) : kind === 'found' ? linesOfFinding(body) : kind === 'acknowledged' ? linesOf(structureIdOf(body.about) || '').filter((line) => line.about === body.about && line.kind === body.flag) : [];
  return lines.length ? { line: lines[0], others: lines.length - 1 } : null;
}

/** @param {string} quantity */
function linesOfReading(quantity) {
  const structure = quantityOf(quantity)?.structure;
  if (!structure) return [];
  return linesOf(structure).filter((line) => line.about === quantity || inputsOf(line.about).includes(quantity));
}

/** @param {Record<string, any>} body of a finding */
function linesOfFinding(body) {
  const places = [...new Set([body.about, body.vessel?.id].filter(Boolean))];
  return graverFirst(places.flatMap((place) => linesOf(place))).filter((line) => line.kind === 'alert');
}
