/** "Before you lift the probe": what is still open, each one tap away, then the end of the exam. */
import { html, nothing } from 'lit-html';
import { markSeen, setFields } from './acts.js';
import { go, keepPosition, record } from './exam.js';
import { gradeOf, mark } from './marks.js';
import { panelView } from './panels.js';
import { due, answered } from './order.js';
import { state, update, updateSession } from './state.js';
import { catalogue, label, quantityOf, structureIdOf } from './tables.js';
import { topView } from './view-exam.js';
import { echoView } from './view-keypad.js';
import { windowsView } from './windows.js';

const KINDS = /** @type {Record<string, string>} */ ({
  not_recorded: 'nobody said whether it was seen',
  not_seen: 'not seen',
  no_reading: 'no reading yet',
  other_side_missing: 'other side is missing',
  question_open: 'question not answered',
});

/** The engine's open items, or (while it starts) the structures that nobody answered. @returns {import('./types').Line[]} */
function openItems() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  if (session.judgement) return session.judgement.open;
  return due(catalogue(), session.view)
    .filter((structure) => !answered(structure, session.view))
    .map((structure) => ({ about: structure.id, kind: 'not_recorded', structure: structure.id }));
}

/** @param {import('./types').Line} line */
function jump(line) {
  const structure = line.structure || structureIdOf(line.about);
  if (!structure) return;
  const row = quantityOf(line.about) ? line.about : null;
  go(structure, row ? { row } : null);
}

/** The engine's words without the name that stands above them. @param {import('./types').Line} line */
function told(line) {
  const words = line.text || KINDS[line.kind || ''] || '';
  const name = `${label(line.about)}: `;
  return words.startsWith(name) ? words.slice(name.length) : words;
}

/** @param {import('./types').Line} line */
function openRow(line) {
  const closable = !quantityOf(line.about) && line.kind !== 'question_open' && line.kind !== 'not_seen' && structureIdOf(line.about);
  const close = (/** @type {string} */ seen) => updateSession({ panel: { kind: 'reason', about: line.about, seen, why: [] } });
  return html`<div class="open-item"><div class="open-row" data-open=${line.about} data-kind=${line.kind || ''}>
    <button class="open-go" @click=${() => jump(line)}><b>${label(line.about)}</b><span>${told(line)}</span></button>
    ${closable ? html`<button class="open-close" data-act="seen" @click=${() => markSeen(line.about, 'whole', [])}>seen</button>
      <button class="open-close" data-act="not-seen" @click=${() => close('not_seen')}>not seen</button>
      <button class="open-close" data-act="not-examined" @click=${() => close('not_examined')}>not exam.</button>` : nothing}
  </div>${windowsView(line)}</div>`;
}

/** @param {string} title @param {import('./types').Line[]} lines */
function group(title, lines) {
  return lines.length ? html`<h2>${title} <small>${lines.length}</small></h2>${lines.map(openRow)}` : nothing;
}

/** Values that can be mended only now. */
function lookAgain() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const flags = (session.judgement?.flags || []).filter((flag) => flag.grade === 'look_again' || flag.grade === 'tell_someone');
  const left = flags.filter((flag) => !session.view.acknowledged.some((one) => one.about === flag.about && one.flag === flag.kind));
  const clashes = session.judgement?.contradictions || [];
  if (!left.length && !clashes.length) return nothing;
  return html`<h2>look again, or tell someone <small>${left.length + clashes.length}</small></h2>
    ${clashes.map((clash) => html`<div class="open-row" data-open=${clash.about} data-kind=${clash.kind}>
      <button class="open-go" @click=${() => jump({ about: clash.about })}><b>${label(clash.about)}</b><span>these do not fit together: ${clash.text}</span></button></div>`)}
    ${left.map((flag) => html`<div class="open-row" data-open=${flag.about} data-kind=${flag.kind || ''}>
      <button class="open-go" @click=${() => jump(flag)}><b>${mark(gradeOf(flag), flag.kind)} ${label(flag.about)}</b><span>${told(flag)}</span></button></div>${windowsView(flag)}`)}`;
}

/** @param {boolean} open */
function questionView(open) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const { text, answered: answer } = session.view.question;
  if (!text && !open) return nothing;
  return html`<h2>the question</h2><p class="asked">${text || 'no question was written'}</p>
    <div class="choices three">${['yes', 'partly', 'not possible'].map((value) => html`<button class="choice ${answer === value ? 'on' : ''}" aria-pressed=${answer === value ? 'true' : 'false'}
      data-answer=${value} @click=${() => setFields([{ about: 'question.answered', value }], `question answered: ${value}`)}>${value === 'yes' ? 'answered' : value === 'partly' ? 'partly answered' : value}</button>`)}</div>`;
}

async function finish() {
  const session = state.session;
  if (!session) return;
  const kept = await record([{ kind: 'closed', body: { about: 'exam' } }], 'exam finished', false);
  if (!kept) return;
  await keepPosition(true);
  state.session = null;
  update({ screen: 'list', list: null });
}

export function openView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  if (session.panel) return html`<div class="page">${topView()}${panelView()}</div>`;
  const items = openItems();
  const questionOpen = items.some((line) => line.kind === 'question_open');
  const sides = items.filter((line) => line.kind === 'other_side_missing');
  const rest = items.filter((line) => line.kind !== 'other_side_missing' && line.kind !== 'question_open');
  const missing = rest.filter((line) => line.kind !== 'not_seen');
  const unseen = rest.filter((line) => line.kind === 'not_seen');
  const again = lookAgain();
  const clean = !missing.length && !sides.length && again === nothing && (!questionOpen || !session.view.question.text);
  return html`<div class="page open-sheet" data-clean=${clean ? 'yes' : 'no'}>
    ${topView()}
    <div class="bar"><h1>Before you lift the probe</h1><button class="finish" data-act="back" @click=${() => update({ screen: 'exam' })}>back</button></div>
    ${echoView()}
    ${clean ? html`<p class="clean">Nothing is open.</p>` : nothing}
    ${again}
    ${group('other side missing', sides)}
    ${group('open', missing)}
    ${group('said to be not seen', unseen)}
    ${questionView(questionOpen)}
    <div class="ends"><button class="answer wide normal" data-act="close-exam" @click=${finish}>finish exam</button></div>
  </div>`;
}
