/** The second copy of what waits: all of it comes back into an emptied storage, and nothing lies there that should not. */
import assert from 'node:assert/strict';
import { createRequire, register } from 'node:module';
import { beforeEach, test } from 'node:test';
import { note } from './rig/notes.mjs';

register('./resolve.mjs', import.meta.url);
const require = createRequire(new URL('../../sw/package.json', import.meta.url));
require('fake-indexeddb/auto');
const { IDBFactory } = require('fake-indexeddb');

const later = setTimeout;
globalThis.setTimeout = (act, ms) => later(act, ms === 300 ? 0 : ms);  // the moment after which it is copied

/** Names of caches, each with what lies at its addresses. @type {Map<string, Map<string, string>>} */
const kept = new Map();
let full = false;
globalThis.caches = {
  has: async (name) => kept.has(name),
  delete: async (name) => kept.delete(name),
  open: async (name) => {
    if (!kept.has(name)) kept.set(name, new Map());
    const lies = kept.get(name);
    return {
      keys: async () => [...lies.keys()].map((path) => ({ url: `http://phone.test${path}` })),
      match: async (path) => (lies.has(path) ? new Response(lies.get(path)) : undefined),
      put: async (path, response) => {
        if (full) throw new DOMException('no room', 'QuotaExceededError');
        lies.set(path, await response.text());
      },
      delete: async (path) => lies.delete(path),
    };
  },
};
let turn = Promise.resolve();
Object.defineProperty(globalThis, 'navigator', {
  configurable: true,
  value: { locks: { request: (_name, _options, act) => (turn = turn.then(act, act)) } },
});

let app;
let windows = 0;

beforeEach(async () => {
  kept.clear();
  full = false;
  emptied();
  await anotherWindow();
});

function emptied() {
  globalThis.indexedDB = new IDBFactory();
}

async function anotherWindow() {
  windows += 1;
  app = {};
  for (const name of ['db', 'journal', 'second', 'vault', 'waiting', 'shelf']) app[name] = await import(`../../static/app/${name}.js?window=${windows}`);
  return app;
}

/** Act, and wait until the copy was written after it. */
async function copied(act) {
  const said = new Promise((resolve) => app.second.onCopyTrouble(resolve));
  const made = await act();
  return { made, trouble: await said };
}

async function start() {
  await anotherWindow();
  const found = await app.second.foundCopy();
  return found && (await app.second.takeBack(found, '2026-11-29T10:00:00+00:00'));
}

async function lies() {
  return app.db.transaction(['entries', 'waiting', 'meta'], 'readonly', async (tx) => ({
    rows: await tx.objectStore('entries').getAll(),
    waiting: await tx.objectStore('waiting').getAllKeys(),
    told: await tx.objectStore('meta').get('taken_back'),
    former: await tx.objectStore('meta').get('former'),
    lock: await tx.objectStore('meta').get('lock'),
  }));
}

const inCopy = () => [...(kept.get('gelside-second') || new Map()).entries()];
const pieces = () => inCopy().filter(([path]) => path !== '/second/head');
const many = (count) => Array.from({ length: count }, (_, number) => note(number));

async function practiceKey() {
  const pair = await crypto.subtle.generateKey(
    { name: 'RSA-OAEP', modulusLength: 2048, publicExponent: new Uint8Array([1, 0, 1]), hash: 'SHA-256' }, true, ['encrypt', 'decrypt']);
  return { ...(await crypto.subtle.exportKey('jwk', pair.publicKey)), kid: 'k' };
}

test('catalogue 75: an emptied storage gets back every entry that waited, as it lay, and goes on under a new name', async () => {
  const { made } = await copied(() => app.journal.append(many(70)));
  const before = await lies();
  assert.equal(pieces().length, 3, '70 entries in pieces of 32');
  emptied();
  assert.ok(await start());
  const after = await lies();
  assert.deepEqual(after.rows, before.rows);
  assert.deepEqual(after.waiting, before.waiting);
  assert.deepEqual(after.former, [{ device: made[0].device, seq: 70 }]);
  assert.deepEqual(after.told, { at: '2026-11-29T10:00:00+00:00', entries: 70, missing: 0, photos: 0, practice: '' });
  const { made: [next] } = await copied(() => app.journal.append([note(70)]));
  assert.notEqual(next.device, made[0].device);
  assert.equal(next.seq, 1);
  assert.equal((await app.journal.counts()).pending, 71);
  assert.equal(pieces().length, 4, 'both names are copied');
  assert.equal(await start(), null, 'it is taken back once');
  emptied();
  assert.ok(await start());
  assert.equal((await lies()).rows.length, 71, 'and again, if it is emptied again');
});

test('what the practice holds leaves the copy, and only that', async () => {
  const { made } = await copied(() => app.journal.append(many(40)));
  const places = (entries) => entries.map(({ id, device, seq }) => ({ id, device, seq }));
  await copied(() => app.journal.takeReceipt('store', places(made.slice(0, 38)), null));
  assert.deepEqual(pieces().map(([, text]) => JSON.parse(text).map(({ seq }) => seq)), [[39, 40]]);
  await copied(() => app.journal.takeReceipt('store', places(made.slice(38)), null));
  assert.deepEqual(pieces(), []);
  await copied(() => app.journal.storeIs('another'));
  assert.equal(pieces().length, 2, 'a restored store asks for all again');
  await copied(() => app.journal.takeReceipt('another', places(made), null));
  emptied();
  assert.ok(await start());
  const { told, rows } = await lies();
  assert.equal(rows.length, 0);
  assert.equal(told.entries, 0, 'that it was emptied is told all the same');
});

test('catalogue 75: behind a PIN the copy holds nothing open, and comes back behind the same PIN', async () => {
  await copied(() => app.journal.append([note(0), note(1)]));
  assert.match(inCopy().map(([, text]) => text).join(), /\\"text\\"/, 'it lay open, as the rows did');
  await copied(async () => {
    await app.vault.makeLock('2468', await practiceKey());
    await app.journal.sealAllRows();
  });
  await copied(() => app.journal.append([note(2)]));
  const before = await lies();
  assert.equal(pieces().length, 1);
  assert.doesNotMatch(inCopy().map(([, text]) => text).join(), /\\"text\\"|"header"|"body"/);
  emptied();
  assert.ok(await start());
  assert.equal(await app.vault.wakeVault(), 'locked');
  await assert.rejects(app.journal.kindEntries('noted'), /PIN/);
  assert.equal(await app.vault.unlock('1357'), 'wrong');
  assert.equal(await app.vault.unlock('2468'), 'open');
  const notes = await app.journal.kindEntries('noted');
  assert.deepEqual(notes.map(({ id }) => id).sort(), before.rows.map(({ id }) => id).sort());
  assert.equal(app.vault.serverWrapped(), before.lock.server_wrapped, 'the practice can open them, too');
});

test('open rows are gone from the copy before the sealing counts as done', async () => {
  await copied(() => app.journal.append([note(0)]));
  await app.vault.makeLock('2468', await practiceKey());
  const drop = caches.delete;
  caches.delete = async () => { throw new Error('not now'); };
  await assert.rejects(app.journal.sealAllRows(), /not now/);
  caches.delete = drop;
  assert.ok(app.vault.sealingWasInterrupted(), 'the next opening does it again');
});

test('emptied under a running window: it is told, the copy stays as it is, and the next start has all', async () => {
  await copied(() => app.journal.append(many(3)));
  emptied();
  const running = app;
  await anotherWindow();
  const { trouble } = await copied(() => app.journal.append([note(3)]));
  assert.equal(trouble, 'emptied');
  assert.equal(JSON.parse(pieces()[0][1]).length, 3);
  assert.notEqual(running, app);
  assert.ok(await start());
  assert.equal((await lies()).rows.length, 4);
});

test('a PIN that was set since cannot open what lies there: it is left as it lies, not taken and not thrown away', async () => {
  await copied(() => app.journal.append([note(0)]));
  await copied(async () => {
    await app.vault.makeLock('2468', await practiceKey());
    await app.journal.sealAllRows();
  });
  const before = inCopy();
  emptied();
  await anotherWindow();
  await app.vault.makeLock('9753', await practiceKey());
  assert.equal(await start(), false);
  assert.equal((await lies()).rows.length, 0);
  assert.deepEqual(inCopy(), before);
});

test('half a piece: the others come back, and how many are missing is told', async () => {
  await copied(() => app.journal.append(many(40)));
  const [path, text] = pieces()[0];
  kept.get('gelside-second').set(path, text.slice(0, 100));
  emptied();
  await start();
  const { told, rows } = await lies();
  assert.deepEqual([rows.length, told.entries, told.missing], [8, 8, 32]);
});

test('no room for the copy: the entry is kept and the trouble told; once there is room all of it is copied', async () => {
  full = true;
  const { made, trouble } = await copied(() => app.journal.append(many(40)));
  assert.equal(made.length, 40);
  assert.equal(trouble, 'failed');
  full = false;
  await copied(() => app.journal.append([note(40)]));
  assert.equal(pieces().length, 2);
});

test('a second storage that does not answer keeps nobody waiting', async () => {
  await copied(() => app.journal.append([note(0)]));
  const { has } = caches;
  const timeout = globalThis.setTimeout;
  caches.has = () => new Promise(() => undefined);
  globalThis.setTimeout = (act) => later(act, 0);
  await assert.rejects(app.second.foundCopy(), /does not answer/);
  Object.assign(caches, { has });
  globalThis.setTimeout = timeout;
});

test('a dropped copy does not come back, nor does one without any entry', async () => {
  await copied(() => app.journal.append([note(0)]));
  await app.second.dropCopy();
  emptied();
  assert.equal(await start(), null);
  app.second.copyLater(null);
  await new Promise((resolve) => later(resolve, 20));
  assert.equal(await start(), null);
});
