/**
 * Times the core in MicroPython (tests/bench/core.py starts it): standard input as tests/core_parity/run.mjs with
 * "sizes": [{"readings", "open": call text, "more": [call text ...]}]; standard output: [{"readings", "open", "judge", "more"}], ms.
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
from core import engine, judgement
_engine = None
def load(text):
    global _engine
    _engine = engine.Engine(engine.tables_of(json.loads(text)))
def call(text):
    return _engine.call(text)
def judge():
    """The folded exam judged whole, nothing kept from before."""
    e = _engine
    return len(judgement.units(e.journal.exam(), e.earlier, e.tables, {}, e.learned))
`);
python.globals.get('load')(JSON.stringify(asked.tables));
const [call, judge] = ['call', 'judge'].map((name) => python.globals.get(name));

/** Milliseconds of this process's own time: other programs on the machine do not count. @param {() => void} work */
function timed(work) {
  const from = process.cpuUsage();
  work();
  const spent = process.cpuUsage(from);
  return (spent.user + spent.system) / 1000;
}

const result = asked.sizes.map((/** @type {any} */ size) => {
  const open = [], judged = [], more = [];
  for (let round = 0; round < asked.rounds; round += 1) {
    open.push(timed(() => call(size.open)));
    judged.push(timed(() => judge()));
    for (const text of size.more) more.push(timed(() => call(text)));
  }
  return { readings: size.readings, open, judge: judged, more };
});
process.stdout.write(JSON.stringify(result));
