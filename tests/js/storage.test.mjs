/** The phone's storage fails in every way it can: what was kept is whole, what was not is said, nothing is in between. */
import assert from 'node:assert/strict';
import { createRequire, register } from 'node:module';
import { beforeEach, test } from 'node:test';
import { note } from './rig/notes.mjs';

register('./resolve.mjs', import.meta.url);
const require = createRequire(new URL('../../sw/package.json', import.meta.url));
require('fake-indexeddb/auto');
const { IDBFactory, IDBObjectStore, IDBDatabase } = require('fake-indexeddb');

let journal;
let db;
let windows = 0;

/** A window of its own over an empty storage. */
beforeEach(async () => {
  globalThis.indexedDB = new IDBFactory();
  await anotherWindow();
});

async function anotherWindow() {
  windows += 1;
  db = await import(`../../static/app/db.js?window=${windows}`);
  journal = await import(`../../static/app/journal.js?window=${windows}`);
}

/** Rows as they lie, and the device's place. */
async function stored() {
  const own = await import(`../../static/app/db.js?window=look${windows}`);
  return own.transaction(['entries', 'meta', 'waiting'], 'readonly', async (tx) => ({
    rows: await tx.objectStore('entries').getAll(),
    device: await tx.objectStore('meta').get('device'),
    waiting: await tx.objectStore('waiting').getAll(),
  }));
}

async function isWhole(many) {
  const { rows, device, waiting } = await stored();
  assert.deepEqual(rows.map(({ seq }) => seq).sort((a, b) => a - b), Array.from({ length: many }, (_, n) => n + 1));
  assert.equal(device?.seq ?? 0, many);
  assert.equal(waiting.length, many);
}

/** The `number`-th writing request of the storage from now on does this. */
function atWrite(number, act) {
  let count = 0;
  const before = { add: IDBObjectStore.prototype.add, put: IDBObjectStore.prototype.put };
  const hook = (name) => function hooked(...given) {
    count += 1;
    if (count === number) act(this.transaction);
    return before[name].apply(this, given);
  };
  Object.assign(IDBObjectStore.prototype, { add: hook('add'), put: hook('put') });
  return { count: () => count, done: () => Object.assign(IDBObjectStore.prototype, before) };
}

test('catalogue 3: a transaction that dies at any of its writes keeps nothing of it, and the next leaves no hole', async () => {
  await journal.append([note(0)]);
  const whole = atWrite(0, () => undefined);
  await journal.append([note(1), note(2)]);
  whole.done();
  let kept = 3;
  assert.ok(whole.count() >= 5, 'two entries, two places, the count');
  for (let step = 1; step <= whole.count(); step += 1) {
    const fault = atWrite(step, (tx) => tx.abort());
    await assert.rejects(journal.append([note(10), note(11)]));
    fault.done();
    await isWhole(kept);
    await journal.append([note(12)]);
    kept += 1;
    await isWhole(kept);
  }
});

test('catalogue 9: a transaction that ends without an error is not called kept', async () => {
  const fault = atWrite(2, (tx) => queueMicrotask(() => tx.abort()));
  await assert.rejects(journal.append([note(1)]), (error) => error instanceof Error);
  fault.done();
  await isWhole(0);
});

test('catalogue 8: a handle that was closed behind the back is opened again once, nothing lost, nothing twice', async () => {
  await journal.append([note(1)]);
  (await db.database()).close();
  const [first, second] = await Promise.all([journal.append([note(2)]), journal.append([note(3)])]);
  assert.deepEqual([first[0].seq, second[0].seq], [2, 3]);
  await isWhole(3);
});

for (const [times, words] of [[1, 'once: tried again'], [99, 'for good: said, and nothing is in between']]) {
  test(`catalogue 8: a storage that answers "unknown error" ${words}`, async () => {
    await journal.append([note(1)]);
    const real = IDBDatabase.prototype.transaction;
    let left = times;
    IDBDatabase.prototype.transaction = function broken(...given) {
      left -= 1;
      if (left >= 0) throw new DOMException('the storage process is gone', 'UnknownError');
      return real.apply(this, given);
    };
    try {
      if (times === 1) await journal.append([note(2)]);
      else await assert.rejects(journal.append([note(2)]), /storage process is gone/);
    } finally {
      IDBDatabase.prototype.transaction = real;
    }
    await isWhole(times === 1 ? 2 : 1);
    await journal.append([note(3)]);
    await isWhole(times === 1 ? 3 : 2);
  });
}

test('catalogue 10: without any storage it says why, and nothing is taken', async () => {
  globalThis.indexedDB = undefined;
  await anotherWindow();
  await assert.rejects(journal.append([note(1)]), /no storage here \(private window\?\)/);
});

test('catalogue 54: an upgrade that fails half-way leaves the old version, which opens again', async () => {
  await new Promise((resolve, reject) => {
    const asked = indexedDB.open('gelside', 1);
    asked.onupgradeneeded = () => {
      const old = asked.result.createObjectStore('entries', { keyPath: 'id' });
      old.createIndex('device', ['device', 'seq']);
      old.createIndex('pending', ['pending', 'seq']);
      asked.result.createObjectStore('meta');
      asked.result.createObjectStore('draft');
      old.put({ id: 'a'.repeat(64), device: 'ab'.repeat(16), seq: 1, own: 1, pending: 1, header: '{}', body: '{}' });
    };
    asked.onsuccess = () => resolve(asked.result.close());
    asked.onerror = reject;
  });
  const create = IDBDatabase.prototype.createObjectStore;
  IDBDatabase.prototype.createObjectStore = function failing(name, ...more) {
    if (name === 'photos') throw new DOMException('no room', 'QuotaExceededError');
    return create.call(this, name, ...more);
  };
  await assert.rejects(db.database());
  IDBDatabase.prototype.createObjectStore = create;
  const version = (await indexedDB.databases()).find(({ name }) => name === 'gelside').version;
  assert.equal(version, 1);
  await anotherWindow();
  const rows = await db.transaction(['entries', 'waiting'], 'readonly', async (tx) => [await tx.objectStore('entries').getAll(), await tx.objectStore('waiting').getAll()]);
  assert.deepEqual([rows[0].length, rows[1]], [1, ['a'.repeat(64)]]);
});

test('catalogue 55: another window that holds the old version is named within seconds, and the third one too', async (context) => {
  context.mock.timers.enable({ apis: ['setTimeout'] });
  const holder = await new Promise((resolve, reject) => {
    const asked = indexedDB.open('gelside', 1);
    asked.onupgradeneeded = () => {
      for (const name of ['meta', 'draft']) asked.result.createObjectStore(name);
      const old = asked.result.createObjectStore('entries', { keyPath: 'id' });
      old.createIndex('device', ['device', 'seq']);
      old.createIndex('pending', ['pending', 'seq']);
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = reject;
  });
  const said = [];
  db.onStorageTrouble((words) => said.push(words));
  const attempts = [assert.rejects(db.database(), /does not answer. Close other Gelside windows/)];
  await anotherWindow();
  attempts.push(assert.rejects(db.database(), /does not answer/));
  await new Promise((resolve) => setImmediate(resolve));
  context.mock.timers.tick(3000);
  await Promise.all(attempts);
  holder.close();
});

test('catalogue 7: a storage that never answers is given up within three seconds, in words', async (context) => {
  context.mock.timers.enable({ apis: ['setTimeout'] });
  const open = IDBFactory.prototype.open;
  IDBFactory.prototype.open = function silent(name, version) {
    const request = open.call(this, `${name} elsewhere`, version);
    for (const type of ['success', 'upgradeneeded', 'error', 'blocked']) request.addEventListener(type, (event) => event.stopImmediatePropagation());
    return request;
  };
  const failed = assert.rejects(journal.append([note(1)]), /does not answer/);
  await new Promise((resolve) => setImmediate(resolve));
  context.mock.timers.tick(3000);
  await failed;
  IDBFactory.prototype.open = open;
});
