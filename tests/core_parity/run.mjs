/**
 * Runs calls through the core in MicroPython, as the phone does, outside a browser.
 * Standard input: {"runtime": path of micropython.mjs, "files": {path: text}, "tables": {name: text}, "calls": [text],
 *   "overlay": the practice's own over the tables, or none}
 * Standard output: [answer text, ...]; a call that fails in MicroPython gives {"failed": words}.
 */
import { readFileSync } from 'node:fs';
import { openCore } from './core.mjs';

const asked = JSON.parse(readFileSync(0, 'utf8'));
const call = (await openCore(asked))('call');

const answers = asked.calls.map((/** @type {string} */ text) => {
  try {
    return call(text);
  } catch (error) {
    return JSON.stringify({ failed: String(error) });
  }
});
process.stdout.write(JSON.stringify(answers));
