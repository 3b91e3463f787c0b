/** What waits to be sent: places in a store of their own, also on a phone that kept it in the rows before. */
import assert from 'node:assert/strict';
import test from 'node:test';
import { Phone, Practice, dice } from './phone.mjs';

const EXAM = '01999999-0000-7000-8000-000000000001';

async function started(practice = new Practice()) {
  const phone = new Phone(practice);
  return { phone, app: await phone.start() };
}

async function written(app, many) {
  const made = [];
  for (let number = 0; number < many; number += 1) made.push(...(await app.write(EXAM, 'noted', { about: 'exam', text: `note ${number}` })));
  return made;
}

const use = (app, act) => app.db.transaction(['entries', 'waiting', 'meta'], 'readwrite', act);

test('every entry waits in its order until exactly it is acknowledged', async () => {
  const { app } = await started();
  const made = await written(app, 12);
  const random = dice(5);
  const left = [...made];
  while (left.length) {
    const taken = left.filter(() => random() < 0.4);
    for (const one of taken) left.splice(left.indexOf(one), 1);
    await app.journal.takeReceipt('store', taken, null);
    const waiting = await app.waiting.pendingRows();
    assert.deepEqual(waiting.map((row) => row.id), left.map((entry) => entry.id));
    const { pending, oldest } = await app.journal.counts();
    assert.deepEqual([pending, oldest], [left.length, left[0]?.at ?? null]);
  }
});

test('only so many are read, the oldest of them, whether they lie close together or far apart', async () => {
  const { app } = await started();
  const made = await written(app, 40);
  const far = made.filter((_, place) => place % 9 === 0);
  assert.deepEqual((await app.waiting.pendingRows(7)).map((row) => row.id), made.slice(0, 7).map((entry) => entry.id));
  await app.journal.takeReceipt('store', made.filter((entry) => !far.includes(entry)), null);
  assert.deepEqual((await app.waiting.pendingRows(3)).map((row) => row.id), far.slice(0, 3).map((entry) => entry.id));
});

test("another phone's entry at the same place is never taken for one of this phone's", async () => {
  const { app } = await started();
  const [mine, next] = await written(app, 2);
  await use(app, (tx) => tx.objectStore('entries').put({ id: 'f'.repeat(64), device: mine.device, seq: mine.seq, own: 0, header: '{}', body: '{}' }));
  assert.deepEqual((await app.waiting.pendingRows()).map((row) => row.id), [mine.id, next.id]);
});

test('a receipt that goes back, and another store, make entries wait again; a closed row never does', async () => {
  const { app } = await started();
  const made = await written(app, 6);
  const { device } = made[0];
  const receipt = (through) => ({ store_id: 'store', device, through, held: through, at: '' });
  await app.journal.takeReceipt('store', made, receipt(6));
  assert.equal((await app.journal.counts()).pending, 0);
  await app.journal.takeReceipt('store', [], receipt(4));
  assert.deepEqual((await app.waiting.pendingRows()).map((row) => row.seq), [5, 6]);
  await app.journal.takeReceipt('store', made.slice(4), receipt(6));
  await use(app, async (tx) => tx.objectStore('entries').put({ ...(await tx.objectStore('entries').get(made[0].id)), closed: 1 }));
  await app.journal.storeIs('restored');
  assert.deepEqual((await app.waiting.pendingRows()).map((row) => row.seq), [2, 3, 4, 5, 6]);
});

/** The stores of version 1, with a flag in each row that waits. */
function before(rows) {
  return new Promise((resolve, reject) => {
    const asked = globalThis.indexedDB.open('gelside', 1);
    asked.onerror = () => reject(asked.error);
    asked.onupgradeneeded = () => {
      const db = asked.result;
      const entries = db.createObjectStore('entries', { keyPath: 'id' });
      entries.createIndex('device', ['device', 'seq']);
      entries.createIndex('pending', ['pending', 'seq']);
      db.createObjectStore('meta');
      db.createObjectStore('draft');
      for (const row of rows) entries.put(row);
    };
    asked.onsuccess = () => {
      asked.result.close();
      resolve(undefined);
    };
  });
}

test('catalogue 53: a phone from before keeps every entry, and what waited there waits here', async () => {
  const phone = new Phone(new Practice());
  const device = 'ab'.repeat(16);
  const row = (seq, more) => ({ id: String(seq).repeat(64).slice(0, 64), device, seq, own: 1, header: `{"device":"${device}","seq":${seq},"at":"2026-11-24T10:00:00+01:00"}`, body: '{}', ...more });
  await before([row(1, {}), row(2, { pending: 1 }), row(3, { pending: 1 }), { ...row(4, {}), own: 0 }]);
  const app = await phone.start();
  assert.deepEqual((await app.waiting.pendingRows()).map(({ seq }) => seq), [2, 3]);
  const { entries, waiting } = await phone.stored();
  assert.deepEqual([...entries.values()].map((one) => [one.seq, one.own, 'pending' in one]), [[1, 1, false], [2, 1, false], [3, 1, false], [4, 0, false]]);
  assert.equal(waiting.size, 2);
});

test('a round with nothing new is one request; what the practice tells is fetched when it changed, or has no mark', async () => {
  const practice = await Practice.found();
  const { app } = await started(practice);
  practice.tokens.set('token', 'approved');
  await app.token.keepToken('token', { practice: null, pull: null, revoked: null });
  const round = async () => {
    practice.heard.length = 0;
    await app.round();
    return practice.heard.map((line) => line.split(/[ ?]/)[0]);
  };
  assert.deepEqual(await round(), ['/api/journal', '/api/practice']);
  assert.deepEqual(await round(), ['/api/journal']);
  practice.mark = 'mark 2';
  assert.deepEqual(await round(), ['/api/journal', '/api/practice']);
  assert.deepEqual(await round(), ['/api/journal']);
  practice.mark = undefined;
  assert.deepEqual(await round(), ['/api/journal', '/api/practice']);
  assert.deepEqual(await round(), ['/api/journal', '/api/practice']);
});
