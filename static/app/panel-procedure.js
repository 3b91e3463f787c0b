/** Needle procedures at the table: what and where, consent, what was asked before, attempts, or why it was not done. */
import { html, nothing } from 'lit-html';
import { changePanel as change, chipButton, panel } from './controls.js';
import { localDate, localTime } from './entry.js';
import { keepPosition } from './hand.js';
import { record } from './record.js';
import { state, updateSession } from './state.js';
import { label, procedures, say, structureOf } from './tables.js';

const MOST_ATTEMPTS = 6;

/** What it is called. @param {string} id */
function named(id) {
  return procedures().procedures.find((one) => one.id === id)?.label || id.replace(/_/g, ' ');
}

/** @param {import('./types').Procedure} one as it stands with the structure's records */
export function procedureWords({ procedure, done, why_not: why }) {
  return `${named(procedure)}: ${done ? 'done' : `not done, ${why}`}`;
}

/** @param {any} at */
export function procedurePanel(at) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const name = label(session.structure);
  if (!at.procedure) {
    return panel(`${name}: needle procedure`, html`<div class="choices two">${procedures().procedures.map(({ id, label: words }) =>
      chipButton(words, () => change({ procedure: id, checks: {} })))}</div>`);
  }
  const ready = at.done === true || Boolean(at.why_not);
  const words = at.done === false ? `keep: not done, ${say(at.why_not || '')}` : 'keep: done';
  return panel(`${name}: ${named(at.procedure)}`, html`${targetChoices(at)}
    <h3>was it done?</h3><div class="choices two">${chipButton('done', () => change({ done: true, why_not: '' }), at.done === true)}${chipButton('not done', () => change({ done: false }), at.done === false)}</div>
    ${at.done === false ? whyChoices(at) : nothing}
    ${consentChoices(at)}${checkChoices(at)}
    ${at.done === true ? attemptChoices(at) : nothing}
    ${at.done === true ? wordsField('got', 'what was got, and where it was sent', at) : nothing}
    ${wordsField('text', 'in your words', at)}`,
  html`<button class="answer wide normal" data-act="procedure-done" ?disabled=${!ready} @click=${() => keep(at)}>${ready ? words : at.done === false ? 'choose why not' : 'say whether it was done'}</button>`);
}

/** One of several, or none. @param {any} at @param {string} key @param {string} title @param {[any, string][]} values */
function choices(at, key, title, values) {
  return html`<h3>${title}</h3><div class="choices" data-group=${key}>${values.map(([value, words]) =>
    chipButton(words, () => change({ [key]: at[key] === value ? undefined : value }), at[key] === value))}</div>`;
}

/** @param {any} at */
function targetChoices(at) {
  const parts = structureOf(state.session?.structure || '')?.parts || [];
  return parts.length ? choices(at, 'part', 'where', parts.map((part) => [part.id, part.label])) : nothing;
}

/** @param {any} at */
function whyChoices(at) {
  return choices(at, 'why_not', 'not done, because', procedures().not_done.map((why) => [why, say(why)]));
}

/** @param {any} at */
function consentChoices(at) {
  return html`${choices(at, 'consent', 'the owner agreed', procedures().consent_how.map((how) => [how, say(how)]))}
    <details class="fold" ?open=${Boolean(at.consent_by || at.consent_when)}><summary>by whom, when</summary>
      ${lineField('consent_by', 'who agreed', at, 'text')}${lineField('consent_when', 'at what time today (another day: in your words)', at, 'time')}</details>`;
}

/** @param {string} key @param {string} words @param {any} at @param {string} type */
function lineField(key, words, at, type) {
  return html`<label class="small" for="procedure-${key}">${words}</label>
    <input id="procedure-${key}" class="text" type=${type} autocomplete="off" maxlength="500" .value=${at[key] || ''} @input=${(/** @type {any} */ event) => note(key, event.target.value)}>`;
}

/** Kept as it is typed; nothing is drawn anew under the keyboard. @param {string} key @param {string} value */
function note(key, value) {
  if (state.session) state.session.panel[key] = value;
  keepPosition();
}

/** @param {any} at */
function attemptChoices(at) {
  return choices(at, 'attempts', 'attempts', Array.from({ length: MOST_ATTEMPTS }, (_, place) => [place + 1, String(place + 1)]));
}

/** One button each: a tap says yes, the next ones the other answers, the last takes it back. Nothing is preset. @param {any} at */
function checkChoices(at) {
  const answers = ['', ...procedures().answers];
  const next = (/** @type {string} */ id) => {
    const answer = answers[(answers.indexOf(at.checks[id] || '') + 1) % answers.length];
    change({ checks: { ...at.checks, [id]: answer } });
  };
  return html`<h3>before (tap again for another answer)</h3><div class="checks">${procedures().checks.map(({ id, label: words }) =>
    html`<button class="choice" data-check=${id} @click=${() => next(id)}>${words}: <b>${say(at.checks[id] || 'not recorded')}</b></button>`)}</div>`;
}

/** @param {string} key @param {string} words @param {any} at */
function wordsField(key, words, at) {
  return html`<label class="small" for="procedure-${key}">${words}</label>
    <textarea id="procedure-${key}" rows="2" .value=${at[key] || ''} @input=${(/** @type {any} */ event) => note(key, event.target.value)}></textarea>`;
}

/** What was left open is left out. @param {any} at */
function keep(at) {
  const session = state.session;
  if (!session) return;
  const checks = Object.entries(at.checks).filter(([, answer]) => answer).map(([id, answer]) => ({ id, answer }));
  const words = (/** @type {string} */ key) => (session.panel[key] || '').trim() || undefined;
  const when = words('consent_when');
  const consent = stated({ by: words('consent_by'), how: at.consent, when: when && localTime(new Date(`${localDate()}T${when}`)) });
  const body = stated({
    about: at.part ? `${session.structure}.${at.part}` : session.structure,
    procedure: at.procedure,
    done: at.done,
    why_not: at.done ? undefined : at.why_not,
    when: localTime(),
    attempts: at.done ? at.attempts : undefined,
    consent: Object.keys(consent).length ? consent : undefined,
    checks: checks.length ? checks : undefined,
    got: at.done ? words('got') : undefined,
    text: words('text'),
  });
  updateSession({ panel: null });
  keepPosition();
  record([{ kind: 'procedure', body }], `${label(String(body.about))}: ${procedureWords(/** @type {any} */ (body))}`);
}

/** @param {Record<string, any>} fields */
function stated(fields) {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined));
}

/** What is seen of the animal afterwards, and the way to strike it. @param {any} at @param {(at: any) => unknown} strikes */
export function watchPanel(at, strikes) {
  const one = state.session?.view.procedures.find((row) => row.id === at.id);
  if (!one) return nothing;
  const keepIt = () => {
    const watched = (state.session?.panel.watched || '').trim();
    if (!watched) return;
    updateSession({ panel: null });
    record([{ kind: 'procedure', body: { about: one.about, procedure: one.procedure, watched, when: localTime() }, of: [one.id] }], `${named(one.procedure)}: seen afterwards`);
  };
  return panel(procedureWords(one), html`${one.watched.map((words) => html`<p class="small">seen afterwards: ${words}</p>`)}
    <label class="small" for="procedure-watched">what is seen afterwards</label>
    <textarea id="procedure-watched" rows="2" .value=${at.watched || ''} @input=${(/** @type {any} */ event) => change({ watched: event.target.value })}></textarea>
    ${strikes({ id: one.id, about: one.about, words: procedureWords(one) })}`,
  html`<button class="answer wide normal" data-act="watch-done" ?disabled=${!(at.watched || '').trim()} @click=${keepIt}>keep what is seen</button>`);
}
