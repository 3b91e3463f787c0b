/** What may go wrong between a phone and its practice: the app's own journal, push and loop, one failure after the other. */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { dice } from './rig/clock.mjs';
import { allArrivedOnce, note, rowsOf, started, written } from './rig/notes.mjs';
import { Phone } from './rig/phone.mjs';
import { FAULTS, Practice, network } from './rig/practice.mjs';

const LONGEST_BACK_OFF_MS = 5 * 60000;

/** A phone with so many notes, its practice, and the way between them. @param {number} many */
async function rig(many) {
  const phone = new Phone();
  const practice = new Practice();
  return { phone, practice, way: network(practice), ids: await written(phone, many) };
}

/** @param {any} life */
function standing(life) {
  const { phase, code, pending } = life.app.state.sync;
  return [phase, code, pending];
}

const posts = (way) => way.seen.filter(({ method }) => method === 'POST').length;

test('catalogue 26: no network from the start to the evening, then one push brings everything', async () => {
  const { phone, practice, way, ids } = await rig(0);
  way.fault = () => 'lost request';
  const life = await started(phone, way);
  await life.app.setMeta('token', 't');
  for (let hour = 0; hour < 10; hour += 1) {
    const entries = await life.app.append(Array.from({ length: 18 }, (_, number) => note(number)));
    ids.push(...entries.map((entry) => entry.id));
    life.app.nudge();
    await life.pass(3600000);
    assert.deepEqual(standing(life), ['offline', 'offline', ids.length]);
  }
  assert.ok(posts(way) > 100, 'it went on asking all day');
  assert.equal(practice.entries.size, 0);
  way.fault = () => null;
  life.heard.online();
  await life.pass(0);
  await allArrivedOnce(life, practice, ids, 'evening');
  assert.equal(practice.pushes, 1);
});

/** @param {string} fault @param {boolean} arrived whether the practice has the entries all the same */
async function marksNothing(fault, arrived) {
  const { phone, practice, way, ids } = await rig(5);
  way.fault = () => fault;
  const life = await started(phone, way);
  assert.deepEqual(standing(life), ['offline', 'offline', 5]);
  assert.equal(practice.entries.size, arrived ? 5 : 0);
  way.fault = () => null;
  await life.pass(LONGEST_BACK_OFF_MS);
  await allArrivedOnce(life, practice, ids, fault);
}

test('catalogue 27: a lost answer marks nothing as sent, and the second push adds nothing twice', () => marksNothing('lost answer', true));
test('catalogue 27: an answer that breaks off marks nothing as sent, and the second push adds nothing twice', () => marksNothing('answer breaks off', true));
test('catalogue 28: a lost request marks nothing as sent, and is made again', () => marksNothing('lost request', false));

/** Each: what stands in the place of a receipt. */
const NO_RECEIPT = ['truncated answer', 'empty answer', 'sign-in page', 'redirect', 'hidden redirect', "somebody else's JSON", 'receipt of another device'];

test('catalogue 30: what is no receipt marks nothing as sent, whoever answers', async () => {
  const { phone, practice, way, ids } = await rig(5);
  const life = await started(phone, way, {});
  for (const fault of NO_RECEIPT) {
    const more = await life.app.append([note(0)]);
    ids.push(more[0].id);
    way.fault = () => fault;
    life.app.sendNow();
    await life.pass(0);
    const waiting = (await rowsOf(life)).filter((row) => row.pending).length;
    assert.deepEqual([...standing(life), waiting].map(String), ['waiting', 'strange', String(waiting), String(waiting)], fault);
    assert.ok(waiting >= 1, fault);
  }
  way.fault = () => null;
  life.app.sendNow();
  await life.pass(0);
  await allArrivedOnce(life, practice, ids, 'in the end');
});

/** Status -> the state it leads to: phase, code, and the least wait until the next try. */
const TRANSITIONS = [
  ['401', 'blocked', 'unknown_phone', 1000], ['403', 'blocked', 'to_approve', 1000], ['409', 'blocked', 'not_taken', 1000],
  ['413', 'blocked', 'too_large', 1000], ['422', 'blocked', 'not_taken', 1000], ['429', 'waiting', 'too_many', 120000],
  ['500', 'waiting', 'status_500', 1000], ['502', 'waiting', 'status_502', 1000], ['503', 'waiting', 'busy', 2000], ['507', 'waiting', 'disk_full', 1000],
];

for (const [status, phase, code, least] of TRANSITIONS) {
  test(`catalogue 31: ${status} keeps every entry, is ${phase} (${code}), asks again by itself, and ends when the practice answers`, async () => {
    const { phone, practice, way, ids } = await rig(5);
    way.fault = () => status;
    const life = await started(phone, way);
    assert.deepEqual(standing(life), [phase, code, 5]);
    assert.ok(life.app.state.sync.reason.length > 10, 'a reason in words');
    const tries = way.seen.length;
    await life.pass(least - 1);
    assert.equal(way.seen.length, tries, 'not before');
    way.fault = () => null;
    await life.pass(LONGEST_BACK_OFF_MS);
    await allArrivedOnce(life, practice, ids, status);
    assert.deepEqual(standing(life), ['idle', '', 0]);
  });
}

test('a wait that nobody means is not believed', async () => {
  const { phone, practice, way, ids } = await rig(1);
  way.go = async () => new Response('', { status: 503, headers: { 'Retry-After': '86400' } });
  const life = await started(phone, way);
  Object.assign(way, network(practice));
  await life.pass(15 * 60000);
  await allArrivedOnce(life, practice, ids, 'after a quarter of an hour');
});

test('catalogue 32: silence is given up after 20 seconds, the back-off grows with jitter, and writing goes on meanwhile', async () => {
  const { phone, practice, way, ids } = await rig(5);
  way.fault = () => 'silence after it was stored';
  const life = await started(phone, way, { seed: 7 });
  await life.pass(19999);
  assert.equal(standing(life)[0], 'sending');
  const [entry] = await life.app.append([note(0)]);
  ids.push(entry.id);
  await life.pass(1);
  assert.deepEqual(standing(life), ['offline', 'offline', 6], 'given up, and the entry written meanwhile is counted');
  /** @type {number[]} */
  const waits = [];
  for (let failures = 1; failures <= 8; failures += 1) {
    const tries = way.seen.length;
    let waited = 0;
    while (way.seen.length === tries) {
      await life.pass(100);
      waited += 100;
    }
    const full = Math.min(LONGEST_BACK_OFF_MS, 2000 * 2 ** (failures - 1));
    assert.ok(waited >= full / 2 && waited <= full + 100, `failure ${failures}: ${waited} of ${full}`);
    waits.push(waited / full);
    await life.pass(20000);
  }
  assert.ok(new Set(waits.map((share) => share.toFixed(2))).size > 4, `jitter: ${waits}`);
  way.fault = () => null;
  await life.pass(LONGEST_BACK_OFF_MS);
  await allArrivedOnce(life, practice, ids, 'after the silence');
});

test('catalogue 33: on a slow line that drops, each batch that went stays sent, batches shrink until they pass, and all arrives', async () => {
  const phone = new Phone();
  const practice = new Practice();
  const way = network(practice);
  const ids = await written(phone, 450, 'n'.repeat(600));
  const random = dice(33);
  /** @type {number[]} */
  const sizes = [];
  // 50 kbit/s and 400 ms each way; one request in four is cut somewhere on its way.
  const carry = (options, text, part) => options.wait(400 + (text.length / 6250) * 1000 * part);
  const slow = async (path, options) => {
    const cut = random() < 0.25;
    await carry(options, options.body || '', cut ? random() : 1);
    if (cut) throw new TypeError('Failed to fetch');
    const answer = await (await way.go(path, options)).text();
    if (options.body) sizes.push(JSON.parse(options.body).entries.length);
    await carry(options, answer, 1);
    return new Response(answer);
  };
  const life = await started(phone, { go: slow });
  const left = [450];
  for (let turn = 0; turn < 400 && left.at(-1); turn += 1) {
    await life.pass(5000);
    const [, , pending] = standing(life);
    assert.ok(pending <= left.at(-1), `never back: ${left}, ${pending}`);
    if (pending < left.at(-1)) left.push(pending);
  }
  assert.ok(left.length > 4, `batch by batch: ${left}`);
  assert.ok(sizes.slice(1).every((size) => size <= 100), `what does not pass in time is made smaller: ${sizes}`);
  await life.pass(20 * 60000);
  await allArrivedOnce(life, practice, ids, `slow line: ${left}`);
  assert.equal((await life.app.getMeta('pull')).since, 450, 'what comes back is taken in pages that pass, too');
});

test('catalogue 34: the network goes in the middle of a batch and comes back: the rest follows at once', async () => {
  const { phone, practice, way, ids } = await rig(450);
  let calls = 0;
  way.fault = () => (++calls === 2 ? 'lost answer' : calls > 2 ? 'lost request' : null);
  const life = await started(phone, way);
  assert.deepEqual(standing(life), ['offline', 'offline', 250], 'one batch was acknowledged, one was not');
  await life.pass(60000);
  way.fault = () => null;
  life.heard.online();
  await life.pass(0);
  await allArrivedOnce(life, practice, ids, 'after the flight');
});

test('catalogue 36: two windows of one phone never send at the same time, and nothing goes twice', async () => {
  const { phone, practice, way, ids } = await rig(650);
  const windows = [];
  for (let number = 0; number < 2; number += 1) {
    const life = phone.start((path, options) => way.go(path, options), { seed: number });
    await life.app.refreshCounts();
    life.app.startSync(() => undefined);
    windows.push(life);
  }
  for (let turn = 0; turn < 20; turn += 1) {
    for (const one of windows) one.app.sendNow();
    await Promise.all(windows.map((one) => one.pass(500)));
  }
  assert.equal(phone.most, 1);
  assert.equal(practice.pushes, 3, 'three batches, each once');
  await allArrivedOnce(windows[0], practice, ids, 'two windows');
});

/** A row that the phone did not write as it is. @param {any} life @param {number} seq @param {(row: any) => any} spoil */
async function spoil(life, seq, spoil) {
  const row = (await rowsOf(life)).find((one) => one.seq === seq);
  await life.app.transaction(['entries'], 'readwrite', async (tx) => {
    await tx.objectStore('entries').put(spoil(row));
  });
}

test('catalogue 38: an entry that the practice cannot read does not stop those behind it', async () => {
  const { phone, practice, way, ids } = await rig(3);
  const life = phone.start((path, options) => way.go(path, options));
  const { createHash } = await import('node:crypto');
  const row = (await rowsOf(life)).find((one) => one.seq === 2);
  const header = row.header.replace('"v":1', '"v":999');
  const id = createHash('sha256').update(header).digest('hex');
  await life.app.transaction(['entries', 'waiting'], 'readwrite', async (tx) => {
    await tx.objectStore('entries').delete(row.id);
    await tx.objectStore('entries').put({ ...row, header, id });
    await tx.objectStore('waiting').put(id, [row.device, row.seq]);
  });
  ids[1] = id;
  life.app.startSync(() => undefined);
  await life.pass(0);
  await allArrivedOnce(life, practice, ids, 'with an unreadable one');
});

test('catalogue 38: one entry that is too large is left behind and named; all others arrive, in this round and later', async () => {
  const { phone, practice, way, ids } = await rig(2);
  const life = await started(phone, way);
  const more = await life.app.append([note(0), note(0, 'x'.repeat(600000)), note(0), note(0)]);
  ids.push(...more.map((entry) => entry.id));
  life.app.sendNow();
  await life.pass(0);
  assert.deepEqual(standing(life), ['blocked', 'too_large', 1]);
  assert.match(life.app.state.sync.reason, /1 entry is too large .* all others were sent/);
  assert.deepEqual(practice.of(more[0].device).map((entry) => entry.seq), [1, 2, 3, 5, 6]);
  const [later] = await life.app.append([note(0)]);
  await life.pass(LONGEST_BACK_OFF_MS);
  assert.ok(practice.entries.has(later.id));
  assert.deepEqual(standing(life), ['blocked', 'too_large', 1]);
});

test('catalogue 31: a batch that is too large for something on the way is made smaller until it passes', async () => {
  const { phone, practice, way, ids } = await rig(100);
  const proxy = async (path, options) => ((options.body || '').length > 20000 ? new Response('<html>413', { status: 413 }) : way.go(path, options));
  const life = await started(phone, { go: proxy });
  await life.pass(0);
  await allArrivedOnce(life, practice, ids, 'in smaller batches');
  assert.ok(practice.pushes > 2);
});

test('one sealed entry that is damaged on the disk does not stop those behind it', async () => {
  const { phone, practice, way } = await rig(0);
  const life = await started(phone, way);
  const { publicKey } = await crypto.subtle.generateKey({ name: 'RSA-OAEP', modulusLength: 2048, publicExponent: new Uint8Array([1, 0, 1]), hash: 'SHA-256' }, true, ['encrypt', 'decrypt']);
  await life.app.setMeta('token', 't');
  await life.app.makeLock('1234', await crypto.subtle.exportKey('jwk', publicKey));
  await life.app.append([note(0), note(1), note(2)]);
  await spoil(life, 2, (row) => ({ ...row, sealed: { ...row.sealed, data: new Uint8Array(row.sealed.data).map((byte) => byte ^ 1).buffer } }));
  life.app.sendNow();
  await life.pass(0);
  assert.deepEqual(standing(life), ['blocked', 'damaged', 1]);
  assert.equal(practice.entries.size, 2);
  const file = await life.app.journalFile();
  assert.equal(JSON.parse(file.text).entries.length, 2);
  assert.match(file.words, /1 could not be read .* NOT in it/);
  await life.app.shut();
  const sealed = JSON.parse((await life.app.journalFile()).text);
  assert.deepEqual([sealed.sealed.length, sealed.entries], [3, undefined], 'a locked phone gives what lies sealed');
});

test('catalogue 43: a wrong server gets nothing marked; another store gets everything again', async () => {
  const { phone, practice, way, ids } = await rig(5);
  const life = await started(phone, way);
  await allArrivedOnce(life, practice, ids, 'the practice');
  const wrong = new Practice();
  wrong.store = 'another';
  wrong.known = false;
  const [entry] = await life.app.append([note(0)]);
  ids.push(entry.id);
  const right = way.go;
  way.go = network(wrong).go;
  life.app.sendNow();
  await life.pass(0);
  assert.deepEqual(standing(life), ['blocked', 'unknown_phone', 1]);
  assert.equal(wrong.entries.size, 0);
  // Somebody lets the phone in there: that store holds nothing, so nothing counts as sent to it.
  wrong.known = true;
  life.app.sendNow();
  await life.pass(1000);
  await allArrivedOnce(life, wrong, ids, 'the other store');
  way.go = right;
  life.app.sendNow();
  await life.pass(1000);
  await allArrivedOnce(life, practice, ids, 'back at the first');
});

test('a store that is met by fetching alone, after a new pairing, gets everything again', async () => {
  const { phone, practice, way, ids } = await rig(5);
  const life = await started(phone, way);
  practice.restore(new Map(), true);
  await life.app.setMeta('pull', null);
  life.app.sendNow();
  await life.pass(1000);
  await allArrivedOnce(life, practice, ids, 'restored empty');
});

test('two stores that answer in turn are noticed, not served without end', async () => {
  const { phone, practice, way, ids } = await rig(3);
  const other = new Practice();
  other.store = 'other';
  let calls = 0;
  const both = (path, options) => (++calls % 2 ? way : network(other)).go(path, options);
  const life = await started(phone, { go: both });
  await life.pass(1000);
  assert.ok(calls < 30, `${calls} requests`);
  life.kill();
  const last = await started(phone, way);
  await last.pass(1000);
  await allArrivedOnce(last, practice, ids, 'one practice again');
});

test('every failure between phone and practice has a name in the table', () => {
  const told = new Set([...NO_RECEIPT, ...TRANSITIONS.map(([status]) => status), 'lost request', 'lost answer', 'answer breaks off', 'silence', 'silence after it was stored']);
  assert.deepEqual(Object.keys(FAULTS).filter((name) => !told.has(name)), []);
});

test('a list that comes in pages is told once, and on a slow line now and then', async () => {
  for (const [slowMs, most] of [[0, 1], [1500, 4]]) {
    const phone = new Phone();
    const practice = new Practice();
    const way = network(practice);
    const writer = new Phone().start(way.go);
    await writer.app.setMeta('token', 't');
    await writer.app.append(Array.from({ length: 900 }, (_, number) => note(number)));
    writer.app.startSync(() => undefined);
    await writer.pass(60000);
    assert.equal(practice.entries.size, 900);
    const told = [];
    const life = phone.start(async (path, options) => {
      if (slowMs) await options.wait(slowMs);
      return way.go(path, options);
    });
    await life.app.setMeta('token', 't');
    life.app.startSync((fresh) => told.push(fresh.length));
    await life.pass(60000);
    assert.equal(told.reduce((sum, many) => sum + many, 0), 900);
    assert.ok(told.length >= (slowMs ? 2 : 1) && told.length <= most, `told ${told}`);
  }
});
