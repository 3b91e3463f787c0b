/** The page turns words as the core does (MicroPython, as on the phone): every text of every table, and odd ones. */
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { spelled, turned } from '../../static/app/spelling.js';

const root = new URL('../../', import.meta.url);
const core = new URL('webapp/core/', root);
const read = (name) => readFileSync(new URL(`tables/${name}`, core), 'utf8');
const { words } = JSON.parse(read('spelling.json'));
const ODD = ['Caecum', 'OEDEMA and oedema', 'Greyhound, grey', 'caecum_wall', 'l\u00e9tumour', 'tumour\u00ad', '\u00d8tumour', 'toString constructor __proto__', '', '3.5 metres/centre'];

async function python() {
  const { loadMicroPython } = await import(new URL('sw/node_modules/@micropython/micropython-webassembly-pyscript/micropython.mjs', root));
  const made = await loadMicroPython({ heapsize: 4 * 1024 * 1024, pystack: 16 * 1024 });
  made.FS.mkdir('/core');
  for (const name of readdirSync(fileURLToPath(core))) {
    if (name.endsWith('.py')) made.FS.writeFile(`/core/${name}`, readFileSync(new URL(name, core), 'utf8'));
  }
  made.runPython('import sys, json\nsys.path.insert(0, "/")\nfrom core import spelling\ndef tables(t):\n    return json.dumps(spelling.tables(json.loads(t), "american"))\ndef odd(t, w):\n    w = json.loads(w)\n    return json.dumps([spelling.spelled(x, "american", w) for x in json.loads(t)])\n');
  return made.globals;
}

test('all tables and odd texts come out the same', async () => {
  const globals = await python();
  const tables = {};
  for (const file of readdirSync(fileURLToPath(new URL('tables/', core)))) if (file.endsWith('.json')) tables[file.slice(0, -5)] = JSON.parse(read(file));
  const theirs = JSON.parse(globals.get('tables')(JSON.stringify(tables)));
  for (const name of Object.keys(tables)) if (!['spelling', 'vocabulary'].includes(name)) assert.deepEqual(turned(tables[name], words), theirs[name], name);
  assert.notDeepEqual(theirs.windows, tables.windows);
  assert.deepEqual(ODD.map((text) => spelled(text, words)), JSON.parse(globals.get('odd')(JSON.stringify(ODD), JSON.stringify(words))));
});

test('without words nothing changes, not even the object', () => {
  const table = { label: 'Caecum' };
  assert.equal(turned(table, null), table);
  assert.equal(spelled('Caecum', null), 'Caecum');
});

globalThis.GELSIDE_TABLES = '/tables.json';

test('the screen follows the spelling and comes back; what is stored stays', async () => {
  const texts = {};
  for (const file of readdirSync(fileURLToPath(new URL('tables/', core)))) if (file.endsWith('.json')) texts[file.slice(0, -5)] = read(file);
  globalThis.fetch = async () => ({ ok: true, json: async () => ({ tables: texts, hash: 'x' }) });
  const { catalogue, label, loadTables, reasonWords, say, useSpelling, windowsOf } = await import('../../static/app/tables.js');
  await loadTables();
  assert.equal(label('caecum'), 'Caecum');
  useSpelling('american');
  assert.equal(label('caecum'), 'Cecum');
  assert.equal(say('the judgement of the vet'), 'the judgment of the vet');
  assert.equal(reasonWords('behaviour'), 'behavior');
  assert.equal(reasonWords('odd behaviour of the owner'), 'odd behaviour of the owner');
  assert.ok(catalogue().not_seen_reasons.includes('behaviour'));
  assert.ok(windowsOf('adrenal.left').length > 0);
  useSpelling(undefined);
  assert.equal(label('caecum'), 'Caecum');
});
