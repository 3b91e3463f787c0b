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

/** @param {string} grade @param {string} [kind] below_limit turns the triangle */
export function mark(grade, kind) {
  const turned = grade === 'outside' && kind === 'below_limit';
  return html`<svg class="mark mark-${grade}" viewBox="0 0 24 24" aria-hidden="true">${shape(grade, turned)}</svg>`;
}

/** @param {string} grade @param {boolean} turned */
function shape(grade, turned) {
  if (grade === 'outside') {
    return turned ? svg`<path class="fill" d="M3 5h18L12 21z"/>` : svg`<path class="fill" d="M12 3l9 16H3z"/>`;
  }
  if (grade === 'look_again') {
    return svg`<path class="line" d="M19 12a7 7 0 1 1-3-5.7"/><path class="fill" d="M14 2l7 4-6 5z"/>`;
  }
  if (grade === 'tell_someone') {
    return svg`<path class="fill" d="M3 4h18v12H12l-5 5v-5H3z"/><path class="cut" d="M12 6v5M12 13v1.6"/>`;
  }
  if (grade === 'note') return svg`<path class="line" d="M5 8h14M5 13h14M5 18h8"/>`;
  if (grade === 'within') return svg`<path class="line" d="M4 5v14M20 5v14M8 12h8"/>`;
  return svg`<path class="line" d="M5 12h3M11 12h3M17 12h3"/>`;
}
