/**
 * Runs calls through the core in MicroPython, as the phone does, outside a browser.
 * Standard input: {"runtime": path of micropython.mjs, "files": {path: text}, "tables": {name: text}, "calls": [text],
 *   "overlay": the practice's own over the tables, or none}
 * Standard output: [answer text, ...]; a call that fails in MicroPython gives {"failed": words}.
 */
import { readFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';

const asked = JSON.parse(readFileSync(0, 'utf8'));
const { loadMicroPython } = await import(pathToFileURL(asked.runtime).href);
const python = await loadMicroPython({ heapsize: 16 * 1024 * 1024, pystack: 16 * 1024 });

python.FS.mkdir('/core');
for (const [path, text] of Object.entries(asked.files)) python.FS.writeFile(`/core/${path}`, text);
python.runPython(`
import sys, json
sys.path.insert(0, "/")
from core import engine
_engine = None
def load(text, overlay):
    global _engine
    _engine = engine.Engine(engine.tables_of(json.loads(text), json.loads(overlay)))
def call(text):
    return _engine.call(text)
`);
python.globals.get('load')(JSON.stringify(asked.tables), JSON.stringify(asked.overlay ?? null));
const call = python.globals.get('call');

const answers = asked.calls.map((/** @type {string} */ text) => {
  try {
    return call(text);
  } catch (error) {
    return JSON.stringify({ failed: String(error) });
  }
});
process.stdout.write(JSON.stringify(answers));
