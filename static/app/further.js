/** A tap instead of a swipe: where a page or a panel is longer than the screen, a button goes on by a screenful. */
import { html } from 'lit-html';

const SLACK_PX = 4;
const KEPT_PX = 60;
/** Below so many letters' widths (rem) the screens stand in more rows. */
const SLIM_REM = 21.3;
const NARROW_REM = 17.6;
/** Lying on its side an exam fits from this height on. */
const TURNED_REM = 21;

/** @param {Element} body by a screenful, from the end back to the top */
function onwards(body) {
  const atEnd = body.scrollTop + body.clientHeight >= body.scrollHeight - SLACK_PX;
  body.scrollTop = atEnd ? 0 : body.scrollTop + Math.max(body.clientHeight - KEPT_PX - covered(), body.clientHeight / 2);
}

/** What the bar and this button cover at the lower edge. */
function covered() {
  const bars = /** @type {HTMLElement[]} */ ([...document.querySelectorAll('.ends, .start .lower, .twice .lower, .further')]);
  return bars.filter((bar) => getComputedStyle(bar).position === 'sticky').reduce((sum, bar) => sum + bar.offsetHeight, 0);
}

/** How much the screen holds, in letters: the browser's text size counts as its zoom does. */
function fitLetters() {
  const rem = parseFloat(getComputedStyle(document.documentElement).fontSize) || 16;
  // The window's own width grows with a page that is too wide for it; this one does not.
  const { clientWidth, clientHeight } = document.documentElement;
  const { classList } = document.body;
  classList.toggle('slim', clientWidth / rem < SLIM_REM);
  classList.toggle('narrow', clientWidth / rem < NARROW_REM);
  classList.toggle('turned', clientWidth > clientHeight && clientWidth >= 600 && clientHeight / rem >= TURNED_REM);
}

/** @param {string} name @param {() => Element | null} of */
function button(name, of) {
  const go = () => {
    const body = of();
    if (body) onwards(body);
  };
  return html`<button class=${name} data-act="further" aria-label="further down, or back up from the end" hidden @click=${go}><span aria-hidden="true">\u2195</span></button>`;
}

export function furtherInPanel() {
  return button('panel-close further-in', () => document.querySelector('.panel-body'));
}

export function furtherOnPage() {
  return button('further', () => document.scrollingElement);
}

/** After drawing: there only where something lies beyond the edge. */
export function afterDrawing() {
  fitLetters();
  const inner = document.querySelector('.panel-body');
  show(document.querySelector('.further-in'), inner !== null && inner.scrollHeight > inner.clientHeight + SLACK_PX);
  const outer = /** @type {HTMLElement | null} */ (document.querySelector('.further'));
  const page = document.scrollingElement;
  if (!outer || !page) return;
  const beyond = page.scrollHeight - outer.offsetHeight > page.clientHeight + SLACK_PX;
  document.body.classList.toggle('goes-on', beyond);
  show(outer, beyond);
}

/** @param {Element | null} place @param {boolean} on */
function show(place, on) {
  if (place) /** @type {HTMLElement} */ (place).hidden = !on;
}

/** Folds that open, a turned phone and another text size change what lies beyond the edge. */
export function watchEdges() {
  document.addEventListener('toggle', afterDrawing, true);
  globalThis.addEventListener('resize', afterDrawing);
  // Its size is given in letters, and in nothing else.
  new ResizeObserver(afterDrawing).observe(/** @type {HTMLElement} */ (document.getElementById('status')));
}
