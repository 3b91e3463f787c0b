/** Marks by shape AND word. The shapes are our own; colour only supports them. */
import { html, svg } from 'lit-html';

const WORDS = /** @type {Record<string, string>} */ ({
  look_again: 'look again',
  outside: 'outside',
  tell_someone: 'tell someone',
  note: 'note',
  within: 'inside limit',
  silent: 'no verdict',
});
const ORDER = ['tell_someone', 'outside', 'look_again', 'note', 'within', 'silent'];

/** @param {import('./types').Line} line @returns {string} grade, or "within" / "silent" */
export function gradeOf(line) {
  if (line.why !== undefined && !line.grade) return 'silent';
  if (line.kind === 'within') return 'within';
  if (line.kind === 'no_verdict') return 'silent';
  return line.grade || 'note';
}

/** @param {string} grade */
export function gradeWords(grade) {
  return WORDS[grade] || grade;
}

/** The graver comes first; equal ones keep their order. @param {import('./types').Line[]} lines */
export function graverFirst(lines) {
  return lines
    .map((line, place) => ({ line, place, rank: ORDER.indexOf(gradeOf(line)) }))
    .sort((a, b) => a.rank - b.rank || a.place - b.place)
    .map(({ line }) => line);
}

/**
 * Open while it waits for a reason, filled when a person has given one: seen without reading and without colour.
 * @param {string} grade @param {string} [kind] below_limit turns the triangle @param {boolean} [answered]
 */
export function mark(grade, kind, answered = false) {
  const turned = grade === 'outside' && kind === 'below_limit';
  return html`<svg class="mark mark-${grade}" viewBox="0 0 24 24" aria-hidden="true" data-filled=${answered ? 'yes' : 'no'}>${shape(grade, turned, answered)}</svg>`;
}

/** @param {string} grade @param {boolean} turned @param {boolean} answered */
function shape(grade, turned, answered) {
  const body = answered ? 'fill' : 'stroke';
  if (grade === 'outside') {
    return turned ? svg`<path class=${body} d="M4 6h16L12 19z"/>` : svg`<path class=${body} d="M12 4l8 14H4z"/>`;
  }
  if (grade === 'look_again') {
    return answered
      ? svg`<circle class="fill" cx="12" cy="12" r="10"/><path class="cut" d="M17 13a5 5 0 1 1-2-5M15 4v4h-4"/>`
      : svg`<path class="stroke" d="M19 12a7 7 0 1 1-3-5.7"/><path class="fill" d="M14 2l7 4-6 5z"/>`;
  }
  if (grade === 'tell_someone') {
    return svg`<path class=${body} d="M3 4h18v12H12l-5 5v-5H3z"/><path class=${answered ? 'cut' : 'stroke'} d="M12 7v3.5M12 13v.4"/>`;
  }
  if (grade === 'note') return svg`<path class="stroke" d="M5 8h14M5 13h14M5 18h8"/>`;
  if (grade === 'within') return svg`<path class="stroke" d="M4 5v14M20 5v14M8 12h8"/>`;
  return svg`<path class="stroke" d="M5 12h3M11 12h3M17 12h3"/>`;
}
