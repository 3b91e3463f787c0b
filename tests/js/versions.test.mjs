/** Phones and practices of different versions: what one cannot read yet is kept to the byte, shown as unread, and read later. */
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { test } from 'node:test';
import { askedOnce } from './rig/core-thread.mjs';
import { allArrivedOnce, rowsOf, started, written } from './rig/notes.mjs';
import { Phone } from './rig/phone.mjs';
import { Practice, json, network } from './rig/practice.mjs';

const ROOT = new URL('../../', import.meta.url);
const CORE = new URL('webapp/core/', ROOT);
const EXAM = '01999999-0000-7000-8000-000000000001';

const texts = (folder, ending) => Object.fromEntries(readdirSync(folder).filter((name) => name.endsWith(ending)).map((name) => [name, readFileSync(new URL(name, folder), 'utf8')]));

/** The rules of another version. @param {Record<string, [string, string]>} changes file to what is replaced in it */
function core(changes) {
  const files = texts(CORE, '.py');
  for (const [name, [now, then]] of Object.entries(changes)) {
    assert.ok(files[name].includes(now), `${name} holds ${now}`);
    files[name] = files[name].replace(now, then);
  }
  const tables = Object.fromEntries(Object.entries(texts(new URL('tables/', CORE), '.json')).map(([name, text]) => [name.replace('.json', ''), text]));
  const runtime = fileURLToPath(new URL('sw/node_modules/@micropython/micropython-webassembly-pyscript/micropython.mjs', ROOT));
  return async (entries) => {
    const asked = { do: 'open', entries, earlier: [], today: '2026-11-24', learned: {} };
    return JSON.parse(await askedOnce({ runtime, files, tables }, JSON.stringify(asked))).exam;
  };
}

const OLDER = { 'entries.py': ['"attached", ', ''] };
const NEWER = { 'entries.py': ['if entry.get("v") != VERSION:', 'if entry.get("v") not in (1, 2):'] };

function draft(kind, body) {
  return { exam: EXAM, patient: 'patient-1', author: 'VS', behalf: null, kind, after: [], of: [], body };
}

/** A practice to which a newer phone brought an exam: a photo in it, and a note in a format that is not out yet. */
async function newerPractice() {
  const practice = new Practice();
  const phone = new Phone();
  await written(phone, 0);
  const life = await started(phone, network(practice));
  const made = await life.app.append([
    draft('opened', { about: 'exam', date: '2026-11-24', visit: null, patient: { name: 'Otto', species: 'dog' }, question: { text: '', structures: [] }, context: {} }),
    draft('attached', { about: 'liver', hash: 'ab'.repeat(32), type: 'image/jpeg' }),
    draft('noted', { about: 'liver', text: 'margins smooth' }),
  ]);
  life.app.sendNow();
  await life.pass(1000);
  const [, , last] = practice.of(made[0].device);
  const header = last.header.replace('"v":1', '"v":2');
  practice.push({ protocol: 1, device: made[0].device, entries: [{ header, body: last.body }] });
  return practice;
}

test('catalogue 52: an older phone keeps what it cannot read to the byte, shows it as unread, and reads it after its update', async () => {
  const practice = await newerPractice();
  const phone = new Phone();
  await written(phone, 0);
  const life = await started(phone, network(practice));
  const sent = [...practice.entries.values()].map(({ header, body }) => ({ header, body }));
  const kept = async (one) => (await rowsOf(one)).map(({ header, body }) => ({ header, body })).sort((a, b) => (a.header < b.header ? -1 : 1));
  const inOrder = sent.sort((a, b) => (a.header < b.header ? -1 : 1));
  assert.deepEqual(await kept(life), inOrder);

  const old = await core(OLDER)(await life.app.examEntries(EXAM));
  assert.deepEqual(old.unread.map(({ kind, v }) => `${kind} ${v}`).sort(), ['attached 1', 'noted 2']);
  assert.deepEqual([old.attachments, old.notes.length, old.patient.name], [[], 1, 'Otto']);
  assert.equal(life.app.viewOf(await life.app.examEntries(EXAM)).patient.name, 'Otto', 'the screen shows the rest');
  life.kill();

  const updated = await started(phone, network(practice));
  const now = await core({})(await updated.app.examEntries(EXAM));
  assert.deepEqual(now.unread.map(({ kind, v }) => `${kind} ${v}`), ['noted 2']);
  assert.equal(now.attachments.length, 1);
  const next = await core(NEWER)(await updated.app.examEntries(EXAM));
  assert.deepEqual([next.unread, next.attachments.length, next.notes.length], [[], 1, 2]);
  assert.deepEqual(await kept(updated), inOrder);
});

/** The answers of another version's server. @param {Practice} practice @param {(receipt: any) => any} change */
function otherAnswers(practice, change) {
  const way = network(practice);
  return {
    ...way,
    async go(path, options) {
      const answer = await way.go(path, options);
      return options.method === 'POST' && answer.status === 200 ? json(change(await answer.json())) : answer;
    },
  };
}

const ANSWERS = {
  'with more fields than this phone knows is believed': [(receipt) => ({ ...receipt, heard_of: 9, results: receipt.results.map((one) => ({ ...one, place: 1 })) }), 0],
  'with a status that this phone does not know marks nothing as sent': [(receipt) => ({ ...receipt, results: receipt.results.map((one) => ({ ...one, status: 'stored_elsewhere' })) }), 3],
  'of another protocol marks nothing as sent': [(receipt) => ({ ...receipt, protocol: 2 }), 3],
};

for (const [words, [change, waits]] of Object.entries(ANSWERS)) {
  test(`catalogue 52: a receipt ${words}, and all is there once in the end`, async () => {
    const practice = new Practice();
    const phone = new Phone();
    const ids = await written(phone, 3);
    const life = await started(phone, otherAnswers(practice, change));
    await life.pass(60000);
    assert.equal((await life.app.counts()).pending, waits);
    life.kill();
    const after = await started(phone, network(practice));
    await after.pass(60000);
    await allArrivedOnce(after, practice, ids, words);
  });
}
