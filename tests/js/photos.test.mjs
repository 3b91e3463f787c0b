/** Photos on the phone: kept whole, sealed, checked when read, sent in pieces that go on where the line was cut. */
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { createRequire, register } from 'node:module';
import { beforeEach, test } from 'node:test';

register('./resolve.mjs', import.meta.url);
const require = createRequire(new URL('../../sw/package.json', import.meta.url));
require('fake-indexeddb/auto');
const photos = await import('../../static/app/photos.js');
const vault = await import('../../static/app/vault.js');
const { pushPhotos } = await import('../../static/app/photo-send.js');
const { transaction } = await import('../../static/app/db.js');
const { WireProblem } = await import('../../static/app/wire.js');

const SIZE = 1300000; // three pieces
const picture = (first = 1) => Uint8Array.from({ length: SIZE }, (_, place) => (place * 7 + first) % 251).buffer;
const sha = (data) => createHash('sha256').update(Buffer.from(data)).digest('hex');

/** A practice that takes photos as /api/photo does; `cut` says after how many PUTs the line breaks, and when. */
class Practice {
  parts = new Map();
  puts = 0;
  cut = null;
  refuse = new Set();

  async answer(path, { method, headers, body }) {
    const hash = path.split('/').pop();
    const here = this.parts.get(hash) || Buffer.alloc(0);
    const complete = here.length === SIZE;
    if (method === 'HEAD') return new Response(null, { headers: { 'X-Gelside-Held': String(here.length), 'X-Gelside-Complete': complete ? 'yes' : 'no' } });
    this.puts += 1;
    if (this.refuse.has(hash)) return json(415, { error: { code: 'not_a_picture', message: 'This is no picture.' } });
    const [start] = headers['Content-Range'].match(/[0-9]+/g).map(Number);
    if (this.cut === 'before') throw new TypeError('cut');
    if (start > here.length) return json(409, { error: { code: 'wrong_offset', message: 'go on from there', held: here.length } });
    this.parts.set(hash, Buffer.concat([here.subarray(0, start), Buffer.from(body)]));
    if (this.cut === 'after') throw new TypeError('cut');
    const held = this.parts.get(hash).length;
    return json(held === SIZE ? 201 : 202, { hash, held, complete: held === SIZE });
  }
}

function json(status, value) {
  return new Response(JSON.stringify(value), { status, headers: { 'Content-Type': 'application/json' } });
}

let practice;
const told = [];
const send = () => pushPhotos('token', (left, trouble) => told.push([left, trouble]));

beforeEach(async () => {
  practice = new Practice();
  globalThis.fetch = (path, given) => practice.answer(path, given);
  told.length = 0;
  await transaction(['photos', 'photos_waiting', 'meta'], 'readwrite', async (tx) => {
    for (const name of ['photos', 'photos_waiting', 'meta']) await tx.objectStore(name).clear();
  });
  vault.forgetVault();
});

test('catalogue 18: bytes are kept as an ArrayBuffer under their hash, and read back the same', async () => {
  const kept = await photos.keepPhoto(picture(), 'image/jpeg', 'exam');
  assert.deepEqual(kept, { hash: sha(picture()), type: 'image/jpeg', size: SIZE, had: false });
  const row = await transaction(['photos'], 'readonly', (tx) => tx.objectStore('photos').get(kept.hash));
  assert.ok(row.data instanceof ArrayBuffer);
  assert.equal(sha(await photos.photoBytes(kept.hash)), kept.hash);
  assert.equal(await photos.photoBytes('0'.repeat(64)), null);
});

test('catalogue 18: bytes that the storage changed are never shown or sent as the picture', async () => {
  const { hash } = await photos.keepPhoto(picture(), 'image/jpeg', 'exam');
  const other = await photos.keepPhoto(picture(2), 'image/jpeg', 'exam');
  await transaction(['photos'], 'readwrite', async (tx) => {
    const row = await tx.objectStore('photos').get(hash);
    await tx.objectStore('photos').put({ ...row, data: row.data.slice(1) });
  });
  await assert.rejects(photos.photoBytes(hash), photos.PhotoDamaged);
  await send();
  assert.deepEqual([...practice.parts.keys()], [other.hash], 'the other one went');
  assert.deepEqual(await photos.waitingPhotos(), [hash]);
  assert.match(told.at(-1)[1], /no longer be read/);
});

for (const cut of ['before', 'after']) {
  test(`catalogue 48: a line cut ${cut} each piece goes on where it stopped and brings every byte once`, async () => {
    const { hash } = await photos.keepPhoto(picture(), 'image/jpeg', 'exam');
    practice.cut = cut;
    await assert.rejects(send(), WireProblem);
    assert.deepEqual(await photos.waitingPhotos(), [hash]);
    if (cut === 'after') {
      await assert.rejects(send(), WireProblem);
      assert.equal(practice.parts.get(hash).length, 2 * 512 * 1024);
    }
    practice.cut = null;
    await send();
    assert.equal(sha(practice.parts.get(hash)), hash);
    assert.deepEqual(await photos.waitingPhotos(), []);
    const before = practice.puts;
    await photos.waitForAllPhotos();
    await send();
    assert.equal(practice.puts, before, 'what is there is not sent again');
  });
}

test('one that the practice does not take waits with its reason, the others go', async () => {
  const bad = await photos.keepPhoto(picture(3), 'image/jpeg', 'exam');
  const good = await photos.keepPhoto(picture(4), 'image/jpeg', 'exam');
  practice.refuse.add(bad.hash);
  await send();
  assert.deepEqual(await photos.waitingPhotos(), [bad.hash]);
  assert.equal(sha(practice.parts.get(good.hash)), good.hash);
  assert.ok(told.some(([, trouble]) => /This is no picture/.test(trouble)));
});

test('an answer that says nothing marks nothing as sent', async () => {
  const { hash } = await photos.keepPhoto(picture(), 'image/jpeg', 'exam');
  globalThis.fetch = async () => new Response('<html>Welcome to our Wi-Fi</html>', { status: 200 });
  await assert.rejects(send(), WireProblem);
  assert.deepEqual(await photos.waitingPhotos(), [hash]);
});

test('under a PIN the bytes lie sealed, those from before it too, and open again', async () => {
  const { publicKey } = await crypto.subtle.generateKey(
    { name: 'RSA-OAEP', modulusLength: 2048, publicExponent: new Uint8Array([1, 0, 1]), hash: 'SHA-256' }, true, ['encrypt', 'decrypt']);
  const before = await photos.keepPhoto(picture(5), 'image/jpeg', 'exam');
  await vault.makeLock('1234', { ...(await crypto.subtle.exportKey('jwk', publicKey)), kid: 'k' });
  const after = await photos.keepPhoto(picture(6), 'image/jpeg', 'exam');
  await photos.sealAllPhotos();
  const rows = await transaction(['photos'], 'readonly', (tx) => tx.objectStore('photos').getAll());
  assert.ok(rows.every((row) => row.sealed && !row.data));
  for (const { hash } of [before, after]) assert.equal(sha(await photos.photoBytes(hash)), hash);
  await vault.shut();
  await assert.rejects(photos.photoBytes(after.hash), vault.PhoneLocked);
});

test('the same picture attached once more, in vain, costs neither the first bytes nor their sending', async () => {
  const first = await photos.keepPhoto(picture(), 'image/jpeg', 'first');
  assert.equal(first.had, false);
  const again = await photos.keepPhoto(picture(), 'image/jpeg', 'second');
  await photos.dropPhoto(again);
  assert.equal(sha(await photos.photoBytes(first.hash)), first.hash);
  assert.deepEqual(await photos.waitingPhotos(), [first.hash]);
  const [row] = await transaction(['photos'], 'readonly', (tx) => tx.objectStore('photos').getAll());
  assert.equal(row.exam, 'first', 'it stays with the exam that has it');
  await photos.dropPhoto(first);
  assert.equal(await photos.photoBytes(first.hash), null, 'alone it goes');
});

test('pictures of exams that left go too, never one that waits', async () => {
  const gone = await photos.keepPhoto(picture(7), 'image/jpeg', 'left');
  const here = await photos.keepPhoto(picture(8), 'image/jpeg', 'here');
  const waits = await photos.keepPhoto(picture(9), 'image/jpeg', 'left');
  for (const { hash } of [gone, here]) await photos.photoArrived(hash);
  await photos.tidyPhotos(new Set(['here']));
  assert.equal(await photos.photoBytes(gone.hash), null);
  for (const { hash } of [here, waits]) assert.ok(await photos.photoBytes(hash));
});
