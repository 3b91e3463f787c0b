/** What a start may wait for: the first list needs no rules where they were asked before, and no rules start by other limits. */
import assert from 'node:assert/strict';
import { beforeEach, test } from 'node:test';
import { Phone, Practice } from './phone.mjs';

/** The rules' threads that a window began, with what they were sent; they answer when the test says so. */
const threads = [];
globalThis.Worker = class {
  constructor() {
    this.sent = [];
    threads.push(this);
  }

  postMessage(message) {
    this.sent.push(message);
  }

  terminate() {
    this.ended = true;
  }

  /** Ready, and the same answer to all that waits. */
  answers(answer) {
    this.onmessage({ data: { ready: true, versions: {} } });
    for (const { id } of this.sent) if (id) this.onmessage({ data: { id, answer } });
  }
};
beforeEach(() => {
  threads.length = 0;
});

const ANSWER = { animals: { p: { name: 'Juniper' } }, visits: [] };
const turns = async (many = 200) => {
  for (let turn = 0; turn < many; turn += 1) await new Promise((resolve) => setImmediate(resolve));
};

/** Wait until this lies in storage. @param {Phone} phone @param {(draft: Map<any, any>) => boolean} holds */
async function lies(phone, holds) {
  for (let look = 0; look < 500; look += 1) {
    const { draft } = await phone.stored();
    if (holds(draft)) return draft;
    await turns(5);
  }
  throw new Error('it never lay in storage');
}

async function withVisit(practice = new Practice()) {
  const phone = new Phone(practice);
  const app = await phone.start();
  await app.write(null, 'planned', { date: '2026-11-24', patient: { name: 'Juniper' } });
  return { phone, app };
}

/** @returns {Promise<any>} the day, or null when it waits for something */
const dayNow = (app) => Promise.race([app.day.readDay(() => undefined), turns().then(() => null)]);

test('an exam that is opened before the limits are known starts no rules by others', async () => {
  const { app } = await withVisit();
  app.engine.restartEngine();
  const asked = app.engine.ask({ do: 'version' });
  assert.equal(threads.length, 0, 'what is asked waits for the limits');
  app.engine.prepareEngine(() => undefined, { rows: 1 }, 'american');
  app.engine.runEngine();
  assert.equal(threads.length, 1);
  const { overlay, spelling } = threads[0].sent[0].start;
  assert.deepEqual({ overlay, spelling }, { overlay: { rows: 1 }, spelling: 'american' });
  threads[0].answers({ fine: true });
  assert.deepEqual(await asked, { fine: true });
});

test('other limits are judged by in a thread of their own; rules that did not load are told of, and tried again when asked for', async () => {
  const { app } = await withVisit();
  const told = [];
  app.engine.prepareEngine(({ ready, failed }) => told.push(ready || failed), null);
  app.engine.runEngine();
  threads[0].onmessage({ data: { failed: 'no file' } });
  await assert.rejects(app.engine.ask({ do: 'version' }), /not running/);
  app.engine.runEngine();
  assert.equal(threads.length, 1);
  app.engine.restartEngine();
  threads[1].answers(null);
  assert.equal(app.engine.useOverlay(null, 'british'), false);
  assert.equal(app.engine.useOverlay({ rows: 2 }, 'british'), true);
  assert.ok(threads[1].ended);
  assert.deepEqual(threads[2].sent[0].start.overlay, { rows: 2 });
  assert.deepEqual(told, ['no file', true]);
});

test('a list that the rules folded once stands at the next start before they run; a changed one is asked for anew', async () => {
  const { phone, app } = await withVisit();
  app.engine.prepareEngine(() => undefined, null);
  const first = app.day.readDay(() => undefined);
  await turns();
  threads[0].answers(ANSWER);
  assert.deepEqual((await first).animals, ANSWER.animals);
  await lies(phone, (draft) => draft.has('day'));
  const next = await phone.start();
  next.engine.prepareEngine(() => undefined, null);
  const day = await dayNow(next);
  assert.deepEqual([day?.animals, day?.asPlanned, threads.length], [ANSWER.animals, false, 1]);
  await next.write(null, 'set', { about: 'patient.name', value: 'Juno' });
  assert.equal(await dayNow(next), null, 'no answer that was made of other entries');
});

test('a first start, with nothing here yet, shows its list without the rules', async () => {
  const app = await new Phone(new Practice()).start();
  app.engine.prepareEngine(() => undefined, null);
  assert.deepEqual(await dayNow(app), { animals: {}, visits: [], planned: new Map(), asPlanned: false });
  assert.equal(threads.length, 0, 'and asks for none');
});

test('with a PIN the folded list lies sealed, also when another window set it', async () => {
  const practice = await Practice.found();
  const { phone, app } = await withVisit(practice);
  await app.settings.loadSettings();
  app.state.update({ practice: practice.told() });
  app.engine.prepareEngine(() => undefined, null);
  app.engine.runEngine();
  const other = await phone.start(true);
  other.engine.prepareEngine(() => undefined, null);
  other.engine.runEngine();
  const [here, there] = threads;
  const reading = other.day.readDay(() => undefined);
  await turns();
  phone.noMessages();
  await app.lock.setPin('2468');
  there.answers(ANSWER);
  await reading;
  await turns();
  assert.doesNotMatch(JSON.stringify([...(await phone.stored()).draft.values()]), /Juniper/, 'a window that does not know of the PIN keeps nothing open');
  const again = app.day.readDay(() => undefined);
  await turns();
  here.answers(ANSWER);
  await again;
  const draft = await lies(phone, (kept) => Boolean(kept.get('day')?.sealed));
  assert.doesNotMatch(JSON.stringify([...draft.values()]), /Juniper/);
});

test('two who look for entries at once read the storage once', async () => {
  const { phone, app } = await withVisit();
  const next = await phone.start();
  let read = 0;
  const { getAll } = globalThis.IDBObjectStore.prototype;
  globalThis.IDBObjectStore.prototype.getAll = function counted(...given) {
    if (this.name === 'entries') read += 1;
    return getAll.apply(this, given);
  };
  try {
    const [some, others] = await Promise.all([next.journal.looseEntries(), next.journal.looseEntries()]);
    assert.deepEqual([some.length, others.length, read], [1, 1, 1]);
  } finally {
    globalThis.IDBObjectStore.prototype.getAll = getAll;
  }
  assert.ok(app);
});
