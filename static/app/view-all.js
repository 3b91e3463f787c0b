/** All structures at a glance: what was said of each, one tap away. Nothing needs a swipe to be reached by "next". */
import { html, nothing } from 'lit-html';
import { asksForReason } from './answers.js';
import { go } from './hand.js';
import { answered, due, others, removedBySignalment, touched } from './order.js';
import { state, update } from './state.js';
import { catalogue, seenWords } from './tables.js';
import { topView } from './view-exam.js';
import { linesOf, reasonFor } from './lines.js';
import { gradeOf, mark } from './marks.js';

/** @param {import('./types').Structure} structure */
function item(structure) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const known = session.view.states[structure.id];
  const begun = touched(structure, session.view);
  const words = known
    ? known.normal ? 'normal' : seenWords(known.seen)
    : answered(structure, session.view) ? 'parts said'
    : begun ? 'begun'
    : removedBySignalment(structure, session.view) ? 'removed (neutered)' : '';
  const flag = linesOf(structure.id).find(asksForReason);
  const sign = known ? (known.normal ? '=' : '/') : begun ? '~' : '';
  return html`<button class="structure ${structure.id === session.structure ? 'current' : ''} ${words ? 'said' : ''}" data-go=${structure.id}
      @click=${() => go(structure.id, null)}>
    <span class="sign" aria-hidden="true">${sign}</span>
    <span class="structure-name">${structure.label}</span>
    <span class="structure-state">${flag ? mark(gradeOf(flag), flag.kind, Boolean(reasonFor(flag))) : nothing}${words}</span>
  </button>`;
}

export function allView() {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  return html`<div class="page">
    ${topView()}
    <div class="bar"><h1>All structures</h1><button class="finish" data-act="back" @click=${() => update({ screen: 'exam' })}>back</button></div>
    <div class="structures">${due(catalogue(), session.view).map(item)}</div>
    <h2>more, when wanted</h2>
    <div class="structures">${others(catalogue(), session.view).map(item)}</div>
  </div>`;
}
