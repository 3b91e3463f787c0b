/** How the next readings are taken: all optional, kept until changed, and always in sight while anything is set. */
import { html, nothing } from 'lit-html';
import { howWords, pixelWords } from './circumstances.js';
import { changePanel, chipButton, panel, smallKeys } from './controls.js';
import { keepPosition } from './hand.js';
import { imageChooser } from './image-number.js';
import { NumberProblem, readNumber } from './number.js';
import { state, updateSession } from './state.js';
import { catalogue, windowsOf } from './tables.js';

/** Detail is lost with distance: what each chip means, in ordinary practice (no published figure). */
const DISTANCES = /** @type {Record<string, string>} */ ({ '1 to 3 cm': '1 to 3 cm: reads best', 'over 5 cm': 'over 5 cm: detail lost' });

/** @param {Record<string, string>} how */
function setHow(how) {
  updateSession({ how });
  keepPosition();
}

/** @param {string} key @param {string} value */
function toggle(key, value) {
  const how = state.session?.how || {};
  const { [key]: before, ...others } = how;
  setHow(before === value ? others : { ...others, [key]: value });
}

/** @param {string} structure @returns {(id: string) => string} */
export function windowLabel(structure) {
  const list = windowsOf(structure);
  return (id) => list.find((one) => one.id === id)?.label || id.replace(/_/g, ' ');
}

/** One quiet line above the keys, only while something is set. */
export function howStrip() {
  const session = state.session;
  if (!session) return nothing;
  const words = howWords(session.how, windowLabel(session.structure));
  if (!words.length) return nothing;
  return html`<button class="how-strip" data-act="how" data-how=${words.join('; ')} @click=${() => updateSession({ panel: { kind: 'how' } })}>
    <span>next: ${words.join(', ')}</span><b>change</b></button>`;
}

/** @param {string} key @param {string} title @param {[string, string][]} values */
function group(key, title, values) {
  const how = state.session?.how || {};
  return html`<h3>${title}</h3><div class="choices" data-group=${key}>${values.map(([value, words]) =>
    chipButton(words, () => toggle(key, value), how[key] === value))}</div>`;
}

/** Depth as the machine shows it, on small keys of its own. @param {any} at */
function depthKeys(at) {
  const unit = state.settings.machineUnit;
  const typed = at.depth || '';
  const press = (/** @type {string} */ key) => changePanel({ depth: (typed + key).slice(0, 6), problem: null });
  const keep = () => {
    try {
      const read = readNumber(typed, unit, 'mm');
      if (!/[1-9]/.test(read.value)) throw new NumberProblem('zero', 'A depth of nothing shows nothing: type the depth of the picture.');
      setHow({ ...state.session?.how, depth_mm: read.value });
      changePanel({ depth: '', depthOpen: false, problem: null });
    } catch (error) {
      if (!(error instanceof NumberProblem)) throw error;
      changePanel({ problem: error.message });
    }
  };
  return smallKeys({ typed, unit, name: 'depth', press, erase: () => changePanel({ depth: typed.slice(0, -1), problem: null }), keep, words: 'keep depth', problem: at.problem });
}

/** @param {any} at */
function depthView(at) {
  const how = state.session?.how || {};
  const { machineRows } = state.settings;
  const pixel = pixelWords(how.depth_mm, machineRows);
  const without = () => {
    const { depth_mm: gone, ...others } = how;
    setHow(others);
  };
  return html`<h3>depth of the picture</h3>
    <div class="choices">${chipButton(how.depth_mm ? `${how.depth_mm} mm` : 'type the depth', () => changePanel({ depthOpen: !at.depthOpen, problem: null }), Boolean(how.depth_mm))}
      ${how.depth_mm ? chipButton('no depth', without) : nothing}</div>
    ${at.depthOpen ? depthKeys(at) : nothing}
    ${pixel ? html`<p class="small" data-pixel=${pixel}>${pixel}; a difference below that is not seen on the screen</p>` : nothing}
    ${how.depth_mm && !machineRows ? html`<p class="small">With the rows of the machine's picture (in settings) the size of one pixel is known too.</p>` : nothing}`;
}

/** The machine's own number of the picture; it goes with the next reading alone. @param {any} at */
function imageView(at) {
  const { image, ...others } = state.session?.how || {};
  return html`<h3>image number of the next reading</h3>${imageChooser(at, image, (number) => setHow(number ? { ...others, image: number } : others))}`;
}

/** @param {any} at */
export function howPanel(at) {
  const session = /** @type {import('./state.js').Session} */ (state.session);
  const lists = catalogue().reading_context;
  const plain = (/** @type {string[]} */ values) => values.map((value) => /** @type {[string, string]} */ ([value, value.replace(/_/g, ' ')]));
  const windows = windowsOf(session.structure).map((one) => /** @type {[string, string]} */ ([one.id, one.label]));
  return panel('The next readings here', html`
    ${group('cut', 'cut', plain(lists.cut))}
    ${group('acquired', 'calipers on', plain(lists.acquired))}
    ${group('distance', 'from probe to organ', lists.distance.map((/** @type {string} */ one) => /** @type {[string, string]} */ ([one, DISTANCES[one] || one])))}
    ${group('recumbency', 'lying', plain(lists.recumbency))}
    ${windows.length ? group('window', 'window', windows) : nothing}
    ${imageView(at)}
    ${depthView(at)}
    ${group('view', 'view of this part', plain(['whole', 'partly']))}
    ${group('plane', 'plane', plain(lists.plane))}`,
    Object.keys(session.how).length ? html`<button class="answer wide quiet" data-act="how-none" @click=${() => setHow({})}>none of these</button>` : nothing);
}
