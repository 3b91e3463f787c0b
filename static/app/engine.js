/**
 * The page's side of the rule code: a queue in front of the worker, which runs from the first call on (or earlier, when
 * the page says so). Calls wait until it is known by whose limits it judges; they are answered in order, and a worker
 * that died is started once more.
 */

/** Names that the build fills in. */
const PLACES = {
  worker: GELSIDE_WORKER,
  runtime: GELSIDE_RUNTIME,
  wasm: GELSIDE_WASM,
  tables: GELSIDE_TABLES,
  rules: GELSIDE_RULES,
};

/** @typedef {{text: string, resolve: (answer: any) => void, reject: (error: Error) => void}} Call */

/** @type {Worker | null} */
let worker = null;
let ready = false;
/** The limits are known: the worker may begin. */
let prepared = false;
/** It ended by itself: until somebody asks for another try, callers are told at once. */
let failed = false;
let number = 0;
/** @type {Map<number, Call>} */
const calls = new Map();
/** @typedef {{ready: boolean, failed: string | null, versions?: import('./types').Versions}} EngineState */

/** @type {(state: EngineState) => void} */
let listener = () => undefined;
/** The practice's own rows and switches, or null. @type {any} */
let overlay = null;
let spelling = 'british';

/** By which limits it judges; it runs when it is called, or told to. @param {(state: EngineState) => void} onState @param {any} own the practice's rows and switches, or null @param {string} [spelled] its spelling */
export function prepareEngine(onState, own, spelled = 'british') {
  listener = onState;
  overlay = own;
  spelling = spelled;
  prepared = true;
  if (calls.size) runEngine();
}

/** Run it now, if it may. */
export function runEngine() {
  if (prepared && !worker && !failed) begin();
}

/**
 * Judge by other rows from now on: a fresh engine. The caller sees to it that no exam is open.
 * @param {any} own @param {string} spelled @returns {boolean} whether anything changed
 */
export function useOverlay(own, spelled) {
  if (JSON.stringify(own) === JSON.stringify(overlay) && spelled === spelling) return false;
  overlay = own;
  spelling = spelled;
  worker?.terminate();
  begin();
  return true;
}

function begin() {
  ready = false;
  failed = false;
  worker = new Worker(PLACES.worker, { type: 'module', name: 'rules' });
  worker.onmessage = (event) => receive(event.data);
  worker.onerror = (event) => fail(event.message || 'the rules stopped');
  const { runtime, wasm, tables, rules } = PLACES;
  worker.postMessage({ start: { runtime, wasm, tables, rules, overlay, spelling } });
}

/** @param {any} message */
function receive(message) {
  if (message.ready) {
    ready = true;
    listener({ ready: true, failed: null, versions: message.versions });
    for (const [id, waiting] of calls) worker?.postMessage({ id, text: waiting.text });
    return;
  }
  if (message.failed && message.id === undefined) {
    fail(message.failed);
    return;
  }
  const waiting = calls.get(message.id);
  if (!waiting) return;
  calls.delete(message.id);
  if (message.failed) waiting.reject(new Error(message.failed));
  else settle(waiting, message.answer);
}

/** @param {Call} waiting @param {any} answer */
function settle(waiting, answer) {
  if (answer.error) waiting.reject(new Error(answer.error.message));
  else waiting.resolve(answer);
}

/** The whole engine is gone: everyone who waits hears of it. @param {string} words */
function fail(words) {
  worker?.terminate();
  worker = null;
  ready = false;
  failed = true;
  for (const waiting of calls.values()) waiting.reject(new Error(words));
  calls.clear();
  listener({ ready: false, failed: words });
}

/** Start again after a failure (a person asked for it, or an exam was opened). */
export function restartEngine() {
  failed = false;
  runEngine();
}

/** @param {any} request @returns {Promise<any>} @throws {Error} with the engine's words */
export function ask(request) {
  const text = JSON.stringify(request);
  return new Promise((resolve, reject) => {
    if (failed) {
      reject(new Error('the rules are not running'));
      return;
    }
    number += 1;
    calls.set(number, { text, resolve, reject });
    runEngine();
    if (ready) worker?.postMessage({ id: number, text });
  });
}
