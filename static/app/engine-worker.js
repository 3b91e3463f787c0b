/**
 * The rule code's home on the phone: one MicroPython interpreter in a worker of its own, so that typing
 * never waits for it. Only JSON text crosses its border (its integers are cut to 32 bits).
 */

import { judgementOf, merge } from './merge.js';

/**
 * Texts in, texts out; the engine object stays on the Python side. Memory is tidied after every 4 MB and not after
 * every few answers: tidying took longer than judging one more reading.
 */
const GLUE = `
import gc, json
from core import engine
gc.threshold(4 * 1024 * 1024)
_engine = None
def load(text, overlay, spelled):
    global _engine
    _engine = engine.Engine(engine.tables_of(json.loads(text), json.loads(overlay), spelled))
def call(text):
    return _engine.call(text)
`;

const scope = /** @type {any} */ (globalThis);

scope.onmessage = (/** @type {MessageEvent} */ event) => {
  const message = event.data;
  if (message.start) start(message.start);
  else answer(message.id, message.text);
};

/** @type {((text: string) => string) | null} */
let call = null;

/** @param {{runtime: string, wasm: string, tables: string, rules: string, overlay: any, spelling: string}} places `overlay`: the practice's own rows and switches */
async function start(places) {
  try {
    const [{ loadMicroPython }, rules, { tables, hash }] = await Promise.all([import(places.runtime), fetched(places.rules), fetched(places.tables)]);
    if (hash !== rules.hash) throw new Error('the rules and their tables are not of one version');
    const python = await loadMicroPython({ url: places.wasm, heapsize: 4 * 1024 * 1024, pystack: 16 * 1024 });
    mount(python, rules.files);
    python.runPython(GLUE);
    // An overlay that the rules refuse ends here, with their words: never other limits in silence.
    python.globals.get('load')(JSON.stringify({ ...tables, ...rules.tables }), JSON.stringify(places.overlay ?? null), places.spelling);
    const engineCall = python.globals.get('call');
    call = (text) => engineCall(text);
    scope.postMessage({ ready: true, versions: JSON.parse(call('{"do":"version"}')) });
  } catch (error) {
    scope.postMessage({ failed: words(error) });
  }
}

/** @param {string} place */
async function fetched(place) {
  const answer = await fetch(place);
  if (!answer.ok) throw new Error(`the rules did not load (${answer.status})`);
  return answer.json();
}

/** Write the rule code's files below /core. @param {any} python @param {Record<string, string>} files */
function mount(python, files) {
  const made = new Set();
  for (const path of Object.keys(files).sort()) {
    const folders = path.split('/').slice(0, -1);
    folders.forEach((_, depth) => {
      const folder = `/${folders.slice(0, depth + 1).join('/')}`;
      if (made.has(folder)) return;
      python.FS.mkdir(folder);
      made.add(folder);
    });
    python.FS.writeFile(`/${path}`, files[path]);
  }
  python.runPython('import sys\nif "/" not in sys.path: sys.path.insert(0, "/")');
}

/** @type {import('./merge.js').Whole | null} the exam that is open in the engine */
let kept = null;

/** @param {any} answer of the engine */
function whole(answer) {
  // Only the answers to an open or apply are a (part of an) exam.
  if (!answer.exam && !answer.delta) return answer;
  kept = merge(kept, answer);
  return { exam: kept.exam, judgement: judgementOf(kept), earlier: kept.earlier };
}

/** @param {number} id @param {string} text */
function answer(id, text) {
  try {
    if (!call) throw new Error('the rules are not ready');
    scope.postMessage({ id, answer: whole(JSON.parse(call(text))) });
  } catch (error) {
    scope.postMessage({ id, failed: words(error) });
  }
}

/** @param {unknown} error */
function words(error) {
  return error instanceof Error ? error.message : String(error);
}
