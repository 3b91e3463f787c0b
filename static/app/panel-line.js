/** On tap of a line: what turns it round, the other sets, its source, what moves the value; and a reason in one more tap. */
import { html, nothing } from 'lit-html';
import { acknowledge } from './acts.js';
import { asksForReason } from './answers.js';
import { dayWords } from './dates.js';
import { gradeOf, gradeWords, mark } from './marks.js';
import { changePanel as change, chipButton, panel } from './controls.js';
import { state, updateSession } from './state.js';
import { label } from './tables.js';
import { callWords, contextAbout, lineText, linesAround, reasonFor } from './lines.js';
import { windowsView } from './windows.js';

/** @typedef {import('./types').Line} Line */

const REASONS = ['measured again, the same', 'explained by circumstances', 'limit does not fit this animal', 'poor view, repeat later'];

/** @param {Line} line */
function limitWords(line) {
  const limit = line.limit;
  if (!limit) return '';
  const unit = line.unit && line.unit !== '1' && line.unit !== '{score}' ? ` ${line.unit}` : '';
  const from = limit.lower && limit.upper ? `${limit.lower} to ${limit.upper}${unit}` : limit.upper ? `up to ${limit.upper}${unit}` : `from ${limit.lower}${unit}`;
  const plane = limit.plane ? `, ${limit.plane.replace(/_/g, ' ')}` : '';
  return `${from}, ${limit.class_words || ''}${plane}`;
}

/** The engine rounds to two places: the ends are no certainty. @param {number | null | undefined} probability */
function chanceWords(probability) {
  if (probability === null || probability === undefined) return '';
  const words = probability >= 1 ? 'over 0.99' : probability <= 0 ? 'under 0.01' : String(probability);
  return `; probability that it is beyond: ${words}`;
}

/** @param {string} title @param {string[]} lines */
function list(title, lines) {
  return lines.length ? html`<h3>${title}</h3>${lines.map((words) => html`<p class="small">${words}</p>`)}` : nothing;
}

/** Two taps: the line, then a reason. Own words take as many as they need. @param {Line} line @param {any} at */
function reasons(line, at) {
  if (!asksForReason(line)) return nothing;
  const known = reasonFor(line);
  if (known && at.again !== line.kind) {
    return html`<p class="given" data-answered=${line.kind || ''}>${mark(gradeOf(line), line.kind, true)} answered: ${known.reason}</p>
      <button class="answer quiet" @click=${() => change({ again: line.kind })}>answer otherwise</button>`;
  }
  const own = at.own === line.kind;
  return html`<div class="choices two" data-reasons=${line.kind || ''}>
      ${REASONS.map((why) => chipButton(why, () => acknowledge(line, why)))}
      ${chipButton('own words', () => change({ own: own ? null : line.kind }), own)}</div>
    ${own ? html`<textarea id="reason-text" rows="3" aria-label="the reason in own words" @input=${(/** @type {any} */ event) => { if (state.session) state.session.panel.text = event.target.value; }}></textarea>
      <button class="answer wide normal" data-act="reason-done" @click=${() => acknowledge(line, (state.session?.panel.text || '').trim())}>keep the reason</button>` : nothing}`;
}

/** @param {Line} line @param {any} at */
function article(line, at) {
  const grade = gradeOf(line);
  const same = (line.also || []).map((also) => also.words || `${also.id}: ${also.verdict}`).filter((words) => !(line.flips || []).some((flip) => flip.endsWith(words)));
  const { limit } = line;
  const group = limit ? [limit.population, limit.n ? `${limit.n} animals` : null].filter(Boolean).join(', ') : '';
  return html`<article class="source" data-line=${line.kind || line.why || ''}>
    <p>${mark(grade, line.kind, Boolean(reasonFor(line)))} <b>${gradeWords(grade)}</b> ${lineText(line)}</p>
    ${callWords(line) && limit ? html`<p class="small">${callWords(line)}${chanceWords(line.probability)}</p>` : nothing}
    ${reasons(line, at)}
    ${list('what turns it round', line.flips || [])}
    ${list(same.length === (line.also || []).length ? 'other sets' : 'other sets, same verdict', same)}
    ${limit ? list('the limit used', [limitWords(line), group, [line.source, limit.known && limit.known !== 'read' ? limit.known : null].filter(Boolean).join('; ')].filter(Boolean)) : nothing}
    ${!limit && line.source ? list('source', [line.source]) : nothing}
    ${windowsView(line)}
  </article>`;
}

/** What became of the values since the last exam that has them, against the spread of repeat readings. @param {string[]} abouts */
function changesOf(abouts) {
  const values = (state.session?.judgement?.values || []).filter((one) => one.earlier && abouts.includes(one.quantity));
  return values.map(({ quantity, unit, earlier }) => {
    const amount = unit === '1' || unit === '{score}' ? '' : ` ${unit}`;
    const share = earlier?.change_percent ? ` (${earlier.change_percent} %)` : '';
    const differs = earlier?.differs?.length ? `; ${earlier.differs.join('; ')}` : '';
    return `${label(quantity)}: ${earlier?.value}${amount} on ${dayWords(earlier?.date)}, now ${earlier?.change}${amount}${share}: ${earlier?.words}${differs}`;
  });
}

/** @param {any} at */
export function linePanel(at) {
  const lines = linesAround(at.about);
  const moves = contextAbout([at.about, ...lines.map((line) => line.about)]);
  return panel(label(at.about), html`<div class="sources">${lines.map((line) => article(line, at))}
    ${list('since the last exam', changesOf([at.about, ...lines.map((line) => line.about)]))}
    ${list('what moves this value', moves.map((one) => `${one.text} (${one.source})`))}</div>`);
}
