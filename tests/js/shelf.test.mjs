/** What a window holds in memory of what lies in storage. */
import assert from 'node:assert/strict';
import test from 'node:test';
import { Phone, Practice } from './phone.mjs';

const EXAM = '01999999-0000-7000-8000-000000000001';
const note = (app, text) => app.write(EXAM, 'noted', { about: 'exam', text }).then(([entry]) => entry);
const texts = async (app) => (await app.shelf.find(() => true)).map((entry) => entry.body.text);
const remove = (app, id) => app.db.transaction(['entries'], 'readwrite', (tx) => tx.objectStore('entries').delete(id));

test('what one window removes from the phone no longer stays in the memory of another', async () => {
  const phone = new Phone(new Practice());
  const one = await phone.start();
  const old = await note(one, 'old');
  await note(one, 'new');
  const other = await phone.start(true);
  assert.deepEqual((await texts(other)).sort(), ['new', 'old']);
  await remove(one, old.id);
  assert.deepEqual(await texts(other), ['new']);
});

test('what is kept while storage is being asked is not taken for removed', async (t) => {
  const app = await new Phone(new Practice()).start();
  const first = await note(app, 'first');
  const { prototype } = globalThis.IDBObjectStore;
  const real = prototype.getAllKeys;
  t.after(() => { prototype.getAllKeys = real; });
  prototype.getAllKeys = function meanwhile(...given) {
    app.shelf.put([{ ...first, id: 'f'.repeat(64), body: { about: 'exam', text: 'second' } }]);
    return real.apply(this, given);
  };
  assert.deepEqual(await texts(app), ['first', 'second']);
});
