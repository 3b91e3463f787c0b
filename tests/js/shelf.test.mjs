/** What a window holds in memory of what lies in storage. */
import assert from 'node:assert/strict';
import test from 'node:test';
import { Phone, Practice } from './phone.mjs';

const EXAM = '01999999-0000-7000-8000-000000000001';
const note = (app, text) => app.write(EXAM, 'noted', { about: 'exam', text }).then(([entry]) => entry);
const texts = async (app) => (await app.shelf.find(() => true)).map((entry) => entry.body.text);

/** As cleanup.js does once a day. */
async function tidyAway(app, id) {
  await app.db.transaction(['entries'], 'readwrite', (tx) => tx.objectStore('entries').delete(id));
  await app.db.setMeta('tidied', '2026-11-24');
}

test('what one window lets leave the phone no longer stays in the memory of another', async () => {
  const phone = new Phone(new Practice());
  const one = await phone.start();
  const old = await note(one, 'old');
  await note(one, 'new');
  const other = await phone.start(true);
  assert.deepEqual((await texts(other)).sort(), ['new', 'old']);
  await tidyAway(one, old.id);
  assert.deepEqual(await texts(other), ['new']);
});

test('what is kept while storage is being asked is not taken for gone', async (t) => {
  const app = await new Phone(new Practice()).start();
  const old = await note(app, 'old');
  const first = await note(app, 'first');
  await texts(app);
  await tidyAway(app, old.id);
  const { prototype } = globalThis.IDBObjectStore;
  const real = prototype.getAllKeys;
  t.after(() => { prototype.getAllKeys = real; });
  let asked = 0;
  prototype.getAllKeys = function meanwhile(...given) {
    asked += 1; // the first time for what is missing, the second for what is gone
    if (asked === 2) app.shelf.put([{ ...first, id: 'f'.repeat(64), body: { about: 'exam', text: 'just kept' } }]);
    return real.apply(this, given);
  };
  assert.deepEqual(await texts(app), ['first', 'just kept']);
});

test('a storage that was emptied under a window takes nothing from its memory', async () => {
  const app = await new Phone(new Practice()).start();
  await note(app, 'still to be seen');
  await texts(app);
  await app.db.transaction(['entries', 'meta'], 'readwrite', (tx) => Promise.all(['entries', 'meta'].map((name) => tx.objectStore(name).clear())));
  assert.deepEqual(await texts(app), ['still to be seen']);
});
