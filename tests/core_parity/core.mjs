/**
 * The core in MicroPython under node, as the phone runs it, outside a browser.
 */
import { pathToFileURL } from 'node:url';

/** The engine as Python sees it: `load` keeps one with these tables, `call` asks it. */
const DOOR = `
import gc, sys, json
sys.path.insert(0, "/")
from core import engine
gc.threshold(4 * 1024 * 1024)
_engine = None
def load(text, overlay):
    global _engine
    _engine = engine.Engine(engine.tables_of(json.loads(text), json.loads(overlay)))
def call(text):
    return _engine.call(text)
`;

/** The runtime keeps its objects in the thread's globals: a second one would free what belongs to the first. */
let opened = false;

/**
 * What the collector of JavaScript may not take: the runtime frees what it takes in the instance that was opened last,
 * which with several of them in one process is another one.
 * @type {any[]}
 */
const held = [];

/**
 * @param {{runtime: string, files: Record<string, string>, tables: Record<string, string>, overlay?: unknown}} asked
 *   path of micropython.mjs, the core's files, the tables' texts, the practice's own over them
 * @param {string} more Python to run beside the door, its functions to be asked for by name
 * @returns {Promise<(name: string) => any>} a function of the core's Python by its name: "call" takes and gives text
 */
export async function openCore(asked, more = '') {
  if (opened) throw new Error('one core to a thread');
  opened = true;
  const { loadMicroPython } = await import(pathToFileURL(asked.runtime).href);
  const python = await loadMicroPython({ heapsize: 4 * 1024 * 1024, pystack: 16 * 1024 });
  python.FS.mkdir('/core');
  for (const [path, text] of Object.entries(asked.files)) python.FS.writeFile(`/core/${path}`, text);
  python.runPython(DOOR + more);
  const door = (/** @type {string} */ name) => {
    const found = python.globals.get(name);
    held.push(python, found);
    return found;
  };
  door('load')(JSON.stringify(asked.tables), JSON.stringify(asked.overlay ?? null));
  return door;
}
