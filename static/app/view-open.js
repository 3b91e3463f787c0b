/** "Before you lift the probe": what is still open, each one tap away, then the end of the exam. */
import { html, nothing } from 'lit-html';
import { markSeen, setFields } from './acts.js';
import { go, held, keepPosition } from './hand.js';
import { allAnswered, record } from './record.js';
import { reasonFor } from './lines.js';
import { gradeOf, mark } from './marks.js';
import { panelView } from './panels.js';
import { answered, due, neverFolded } from './order.js';
import { state, update, updateSession } from './state.js';
import { catalogue, label, quantityOf, structureIdOf, structureOf, soft } from './tables.js';
import { topView } from './view-exam.js';
import { echoView } from './view-keypad.js';
import { heldByUnsaved } from './unsaved.js';
import { windowsView } from './windows.js';

const MANY_PARTS = 3;
const ANSWERS = [['yes', 'yes'], ['partly', 'partly'], ['not possible', 'not possible']];
const KINDS = /** @type {Record<string, string>} */ ({
  not_recorded: 'nobody said whether it was seen',
  not_seen: 'not seen',
  no_reading: 'no reading yet',
  other_side_missing: 'other side is missing',
  question_open: 'question not answered',
  find_again: 'found in an earlier exam: look for it again',
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
  if (held()) return;
  if (line.about.startsWith('patient.')) update({ screen: 'animal', form: null });
  const structure = line.structure || structureIdOf(line.about);
  if (!structure) return;
  const row = quantityOf(line.about) ? line.about : null;
  go(structure, row ? { row } : null);
}

/** The engine's words without the name that stands above them. @param {import('./types').Line} line */
function told(line) {
  const words = line.text || KINDS[line.kind || ''] || '';
  const name = [`${label(line.about)}: `, `${label(line.about)}, `].find((one) => words.startsWith(one));
  return name ? words.slice(name.length) : words;
}

/** @param {import('./types').Line} line */
function openRow(line) {
  const closable = !quantityOf(line.about) && line.kind !== 'question_open' && line.kind !== 'not_seen' && line.kind !== 'find_again' && line.kind !== 'parts_not_recorded' && structureIdOf(line.about);
  const close = (/** @type {string} */ seen) => updateSession({ panel: { kind: 'reason', about: line.about, seen, why: [] } });
  return html`<div class="open-item"><div class="open-row" data-open=${line.about} data-kind=${line.kind || ''}>
    <button class="open-go" @click=${() => jump(line)}><b>${soft(label(line.about))}</b><span>${told(line)}</span></button>
    ${closable ? html`<button class="open-close" data-act="seen" @click=${() => markSeen(line.about, 'whole', [])}>seen</button>
      <button class="open-close" data-act="not-seen" @click=${() => close('not_seen')}>not seen</button>
      <button class="open-close" data-act="not-examined" @click=${() => close('not_examined')}>not exam.</button>` : nothing}
  </div>${windowsView(line)}</div>`;
}

/**
 * Parts of one structure of which nobody said anything, as one row; a gland's parts are never folded.
 * @param {import('./types').Line[]} lines @returns {import('./types').Line[]}
 */
function folded(lines) {
  const parts = (/** @type {import('./types').Line} */ line) =>
    lines.filter((one) => one.kind === 'not_recorded' && one.part && one.structure === line.structure);
  return lines.flatMap((line) => {
    const structure = structureOf(line.structure || '');
    const own = line.kind === 'not_recorded' && line.part && structure && !neverFolded(structure) ? parts(line) : [];
    if (own.length < MANY_PARTS) return [line];
    if (own[0] !== line) return [];
    const names = own.map((one) => structure?.parts.find((part) => part.id === one.part)?.label || one.part);
    return [{ ...line, about: line.structure || line.about, kind: 'parts_not_recorded', text: `not recorded: ${names.join(', ')}` }];
  });
}

/** @param {string} title @param {import('./types').Line[]} lines */
function group(title, lines) {
  return lines.length ? html`<h2>${title} <small>${lines.length}</small></h2>${folded(lines).map(openRow)}` : nothing;
}

/** Values that can be mended only now. */
function lookAgain() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const flags = (session.judgement?.flags || []).filter((flag) => flag.grade === 'look_again' || flag.grade === 'tell_someone');
  const left = flags.filter((flag) => !reasonFor(flag));
  const clashes = session.judgement?.contradictions || [];
  if (!left.length && !clashes.length) return nothing;
  return html`<h2>look again, or tell someone <small>${left.length + clashes.length}</small></h2>
    ${clashes.map((clash) => html`<div class="open-row" data-open=${clash.about} data-kind=${clash.kind}>
      <button class="open-go" @click=${() => jump({ about: clash.about })}><b>${label(clash.about)}</b><span>these do not fit together: ${clash.text}</span></button></div>`)}
    ${left.map((flag) => html`<div class="open-row" data-open=${flag.about} data-kind=${flag.kind || ''}>
      <button class="open-go" @click=${() => jump(flag)}><b>${mark(gradeOf(flag), flag.kind)} ${soft(label(flag.about))}</b><span>${told(flag)}</span></button></div>${windowsView(flag)}`)}`;
}

/** What was asked, and whether it was answered: the last thing said while the probe is on, the first thing read. @param {boolean} open */
function questionView(open) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const { text, answered: answer } = session.view.question;
  if (!text && !open) return nothing;
  return html`<div class="answer-question" role="group" aria-label="was the question answered?"><p class="asked question"><b>${answer ? 'asked' : 'Was it answered?'}</b> ${text || 'no question was written'}</p>
    <div class="choices three">${ANSWERS.map(([value, words]) => html`<button class="choice ${answer === value ? 'on' : ''}" aria-pressed=${answer === value ? 'true' : 'false'}
      data-answer=${value} @click=${() => setFields([{ about: 'question.answered', value }], `question answered: ${value}`)}>${words}</button>`)}</div></div>`;
}

let finishing = false;

/** Once, however often it is tapped, and when the storage has taken all that came before. */
async function finish() {
  const session = state.session;
  if (finishing || !session || held() || heldByUnsaved(session)) return;
  finishing = true;
  try {
    await allAnswered(session);
    if (session === state.session && !held() && !heldByUnsaved(session)) await end(session);
  } finally {
    finishing = false;
  }
}

/** @param {import('./state.js').Session} session */
async function end(session) {
  /** @type {Record<string, string>} */
  const body = { about: 'exam' };
  // Only what was judged by: left out while the rules have not looked at it.
  if (session.judgement) body.limits_version = session.judgement.limits_version;
  if (session.judgement && state.versions) body.core_version = state.versions.core_version;
  const kept = await record([{ kind: 'closed', body }], 'exam finished', false);
  if (!kept) return;
  await keepPosition(true);
  state.session = null;
  update({ screen: 'list', list: null });
}

export function openView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  if (session.panel) return html`<div class="page">${topView()}${session.unsaved ? echoView() : nothing}${panelView()}</div>`;
  const items = openItems();
  const questionOpen = items.some((line) => line.kind === 'question_open');
  const sides = items.filter((line) => line.kind === 'other_side_missing');
  const rest = items.filter((line) => line.kind !== 'other_side_missing' && line.kind !== 'question_open');
  const again = rest.filter((line) => line.kind === 'find_again');
  const missing = rest.filter((line) => line.kind !== 'not_seen' && line.kind !== 'find_again');
  const unseen = rest.filter((line) => line.kind === 'not_seen');
  const look = lookAgain();
  const unanswered = Boolean(session.view.question.text) && !session.view.question.answered;
  const clean = !missing.length && !again.length && !sides.length && look === nothing && (!questionOpen || !session.view.question.text);
  return html`<div class="page open-sheet" data-clean=${clean ? 'yes' : 'no'}>
    ${topView()}
    <div class="bar"><h1>Before you lift the probe</h1><button class="finish" data-act="back" @click=${() => update({ screen: 'exam' })}>back</button></div>
    ${echoView()}
    ${clean ? html`<p class="clean">Nothing is open.</p>` : nothing}
    ${look}
    ${group('found before, not described today', again)}
    ${group('other side missing', sides)}
    ${group('open', missing)}
    ${group('said to be not seen', unseen)}
    <div class="ends">${questionView(questionOpen)}
      <button class="answer wide ${unanswered ? '' : 'normal'}" data-act="close-exam" @click=${finish}>${unanswered ? 'finish exam, the question stays open' : 'finish exam'}</button></div>
  </div>`;
}
