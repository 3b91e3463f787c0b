/** A finding from the closed list, with its place, size, vessel state and words. */
import { html, nothing } from 'lit-html';
import { addFinding } from './acts.js';
import { keepPosition } from './hand.js';
import { imageChooser } from './image-number.js';
import { NumberProblem, readNumber } from './number.js';
import { changePanel as change, chipButton, panel } from './controls.js';
import { NUMBERED, nextNumber, sketchView } from './sketch.js';
import { state } from './state.js';
import { descriptors, findingsFirst, label, structureOf } from './tables.js';

const VESSELS = ['vena_cava', 'phrenicoabdominal_vein', 'aorta', 'portal_vein'];
const MOST_AXES = 3;

/** @param {any} at */
export function findingPanel(at) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const name = label(session.structure);
  if (!at.finding) return panel(`${name}: what was found`, whichFinding(at, session.structure));
  return panel(
    `${name}: ${at.finding.replace(/_/g, ' ')}`,
    html`${placeChoices(at)}${sizeKeys(at)}${vesselChoices(at)}${glandChoices(at)}<h3>image number</h3>${imageChooser(at, at.image, (image) => change({ image }))}${wordsField(at)}`,
    html`${at.problem ? html`<p class="problem-words" role="alert">${at.problem}</p>` : nothing}
      <button class="answer wide normal" data-act="finding-done" @click=${() => finish(at)}>keep the finding</button>`,
  );
}

/** Those that are common for this organ first, in the thumb's reach; all the others one tap further. @param {any} at @param {string} structure */
function whichFinding(at, structure) {
  const first = findingsFirst(structure);
  const rest = descriptors().finding_ids.filter((id) => id !== 'none' && !first.includes(id));
  const chip = (/** @type {string} */ id) => chipButton(id.replace(/_/g, ' '), () =>
    change({ finding: id, axes: [], typed: '', number: NUMBERED.includes(id) ? String(nextNumber()) : undefined }));
  return html`<div class="choices three at-thumb">${first.map(chip)}
    ${at.everyOne ? rest.map(chip) : html`<button class="choice" data-act="more-findings" @click=${() => change({ everyOne: true })}>more findings</button>`}</div>`;
}

/** @param {any} at */
function placeChoices(at) {
  const structure = structureOf(state.session?.structure || '');
  const numbers = Array.from({ length: Math.max(4, nextNumber()) }, (_, place) => String(place + 1));
  return html`${structure?.parts.length ? html`<h3>where</h3><div class="choices">${structure.parts.map((part) =>
      chipButton(part.label, () => change({ part: at.part === part.id ? undefined : part.id }), at.part === part.id))}</div>` : nothing}
    ${structure ? sketchView(structure.id, at.site, (site) => change({ site })) : nothing}
    ${NUMBERED.includes(at.finding) ? html`<h3>lesion number</h3><div class="choices">${numbers.map((number) =>
      chipButton(number, () => change({ number: at.number === number ? undefined : number }), at.number === number))}</div>` : nothing}`;
}

/** Up to three axes on a small own keypad; nothing is rounded. @param {any} at */
function sizeKeys(at) {
  const unit = state.settings.machineUnit;
  const press = (/** @type {string} */ key) => change({ typed: (at.typed || '') + key, problem: null });
  return html`<h3>size, typed in ${unit}: ${at.axes.map((/** @type {any} */ axis) => `${axis.value} mm`).join(' x ') || 'none yet'}</h3>
    <div class="size-keys">
      <output class="size-typed">${at.typed || ''}</output>
      ${['1', '2', '3', '4', '5', '6', '7', '8', '9', '0', '.'].map((key) => html`<button class="key" data-size=${key} @click=${() => press(key)}>${key}</button>`)}
      <button class="key word" @click=${() => (at.typed ? change({ typed: at.typed.slice(0, -1) }) : change({ axes: at.axes.slice(0, -1) }))}>erase</button>
      <button class="key word" data-act="axis" ?disabled=${at.axes.length >= MOST_AXES} @click=${() => keepAxis(at)}>next axis</button>
    </div>`;
}

/** @param {any} at @returns {boolean} */
function keepAxis(at) {
  if (!at.typed) return true;
  try {
    const read = readNumber(at.typed, state.settings.machineUnit, 'mm');
    at.axes = [...at.axes, read];
    change({ axes: at.axes, typed: '', problem: null });
    at.typed = '';
    return true;
  } catch (error) {
    if (!(error instanceof NumberProblem)) throw error;
    change({ problem: error.message });
    return false;
  }
}

/** @param {any} at */
function vesselChoices(at) {
  const structure = state.session?.structure || '';
  if (!structure.startsWith('adrenal.') && !VESSELS.includes(structure)) return nothing;
  const lists = descriptors().vessel;
  const id = at.vessel || (VESSELS.includes(structure) ? structure : null);
  return html`<h3>vessel beside it</h3><div class="choices">${VESSELS.map((one) =>
      chipButton(one.replace(/_/g, ' '), () => change({ vessel: id === one ? null : one, state: null }), id === one))}</div>
    ${id ? html`<div class="choices">${lists[id].map((/** @type {string} */ words) =>
      chipButton(words, () => change({ vessel: id, state: at.state === words ? null : words }), at.state === words))}</div>` : nothing}
    ${at.state && at.state.startsWith('material') ? html`<h3>as far as</h3><div class="choices">${lists.extent.map((/** @type {string} */ words) =>
      chipButton(words, () => change({ extent: at.extent === words ? null : words }), at.extent === words))}</div>` : nothing}`;
}

/** @param {any} at */
function glandChoices(at) {
  const structure = state.session?.structure || '';
  if (!structure.startsWith('adrenal.')) return nothing;
  const lists = descriptors().adrenal;
  const side = structure.endsWith('.left') ? 'left' : 'right';
  const group = (/** @type {string} */ key, /** @type {string} */ title, /** @type {string[]} */ values) => html`<h3>${title}</h3>
    <div class="choices">${values.map((words) => chipButton(words, () => change({ [key]: at[key] === words ? null : words }), at[key] === words))}</div>`;
  return html`${group('shape', 'shape', [...lists.shape.both, ...lists.shape[side]])}
    ${group('outline', 'outline', lists.nodule.outline)}${group('echo', 'echogenicity', lists.nodule.echogenicity)}`;
}

/** @param {any} at */
function wordsField(at) {
  return html`<label class="small" for="finding-text">in your words (dictation of the keyboard works here)</label>
    <textarea id="finding-text" rows="2" .value=${at.text || ''} @input=${(/** @type {any} */ event) => { if (state.session) state.session.panel.text = event.target.value; keepPosition(); }}></textarea>`;
}

/** @param {any} at */
function finish(at) {
  const session = state.session;
  if (!session || !keepAxis(at)) return;
  const text = (session.panel.text || '').trim();
  /** @type {Record<string, any>} */
  const body = { about: session.structure, finding: at.finding };
  if (at.part) body.part = at.part;
  if (at.axes.length) Object.assign(body, { dimensions: at.axes.map((/** @type {any} */ axis) => axis.value), unit: 'mm', typed: at.axes.map((/** @type {any} */ axis) => `${axis.typed} ${axis.typed_unit}`) });
  if (at.state) body.vessel = { id: at.vessel, state: at.state, ...(at.extent ? { extent: at.extent } : {}) };
  if (at.number) body.number = Number(at.number);
  for (const key of ['site', 'shape', 'outline', 'echo']) if (at[key]) body[key] = at[key];
  if (at.image) body.image = at.image;
  if (text) body.text = text;
  addFinding(body);
}
