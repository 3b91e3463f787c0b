/** The choices of one question of the preparation: on the start page and on the animal's. */
import { html, nothing } from 'lit-html';
import { chipButton } from './controls.js';
import { answerWords, askedWords, chosen, stands } from './preparation.js';

/**
 * @param {import('./preparation.js').Preparation} one @param {any} value what stands @param {any} before the last answer, or undefined
 * @param {(value: any) => void} set
 */
export function preparationChoices(one, value, before, set) {
  const words = before === undefined || before === null ? '' : answerWords(one, before);
  const offered = words && answerWords(one, value) !== words;
  return html`<h2>${askedWords(one)}${words ? html` <small>last time: ${words}</small>` : nothing}</h2>
    <div class="choices two" data-group=${one.field}>
      ${offered ? html`<button class="choice as-before" data-before=${one.field} @click=${() => set(before)}>as last time: ${words}</button>` : nothing}
      ${one.choices.map(([name, choice]) => chipButton(name, () => set(chosen(one, value, choice)), stands(one, value, choice)))}</div>`;
}
