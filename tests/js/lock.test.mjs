/** The lock's laws one by one, over the app's own modules; the walk through all of them is lock-walk.test.mjs. */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Phone, Practice, stretched } from './phone.mjs';

const FIVE = 5;
const practice = await Practice.found();

/** A paired phone with a PIN and one entry. */
async function paired(pin = '2468') {
  practice.held.clear();
  practice.tokens = new Map([['first', 'approved']]);
  practice.line = 'good';
  const phone = new Phone(practice);
  const app = await phone.start();
  await app.token.keepToken('first', { practice: practice.told() });
  await app.settings.loadSettings();
  await app.write('e1', 'noted', { about: 'exam', text: 'before the PIN' });
  if (pin) await app.lock.setPin(pin);
  return { phone, app };
}

const open = (app) => app.lock.tryPin('2468', () => app.enter());

test('hidden for less than five minutes stays open; five minutes lock; the PIN opens at once', async () => {
  const { phone, app } = await paired();
  await phone.hide(FIVE - 0.1);
  assert.equal(app.screen, 'list');
  await phone.hide(FIVE);
  assert.equal(app.screen, 'locked');
  await assert.rejects(app.journal.examEntries('e1'), /locked/);
  await open(app);
  assert.equal(app.screen, 'list');
  assert.equal((await app.journal.examEntries('e1')).length, 1);
});

test('a lock that falls while the list is read leaves nothing on the screen, and is no fault', async () => {
  const { app } = await paired();
  for (let turns = 0; turns < 12; turns += 1) {
    app.shelf.clear(); // as at a start: every row has to be opened
    const reading = app.view_list.refreshList();
    for (let turn = 0; turn < turns; turn += 1) await new Promise((resolve) => setImmediate(resolve));
    await app.lock.lockNow();
    await reading;
    assert.equal(app.screen, 'locked');
    assert.equal(app.state.state.list, null);
    await assert.rejects(app.journal.examEntries('e1'), /locked/, 'nothing opened lies in memory behind the lock');
    await open(app);
    await app.view_list.refreshList();
    assert.ok(app.state.state.list);
  }
});

test('a clock that is set back does not keep the phone open', async () => {
  const { phone, app } = await paired();
  const { now } = performance;
  await phone.show('hidden');
  phone.pass(-600);
  performance.now = () => now.call(performance) + FIVE * 60000;
  try {
    await phone.show('visible');
  } finally {
    performance.now = now;
  }
  assert.equal(app.screen, 'locked');
});

test('the lock is never in the way of a started exam, and is due when that is left', async () => {
  const { phone, app } = await paired();
  await app.beginExam('e2', 'Otto');
  await phone.hide(60);
  assert.equal(app.screen, 'exam');
  await app.write('e2', 'noted', { about: 'exam', text: 'after an hour in the pocket' });
  await app.leaveExam(false);
  assert.equal(app.screen, 'locked');
  await open(app);
  assert.equal((await app.journal.examEntries('e2')).length, 2);
});

test('a killed phone starts in its exam without a PIN, as often as it is killed; the list asks for it', async () => {
  const { phone, app } = await paired();
  await app.beginExam('e2', 'Otto');
  let again = await phone.start();
  again = await phone.start();
  assert.equal(again.screen, 'resume');
  assert.equal(again.state.state.resume.position.typed, 'Otto');
  await phone.hide(60);
  assert.equal(again.screen, 'resume');
  await again.goOn();
  await again.leaveExam(true);
  assert.equal(again.screen, 'locked');
  assert.equal((await phone.start()).screen, 'locked');
});

test('a finished exam on the screen does not keep the phone open, nor does it open one that was killed', async () => {
  const { phone, app } = await paired();
  await app.beginExam('e2', 'Otto');
  await app.write('e2', 'closed', { about: 'exam', limits_version: '1' });
  app.state.state.session.view.closed = true;
  const again = await phone.start();
  assert.equal(again.screen, 'locked');
  await open(again);
  assert.equal((await phone.stored()).draft.size, 0);
});

test('an animal that is being entered is there again behind the PIN, as it was typed', async () => {
  const { phone, app } = await paired();
  app.state.update({ screen: 'start', form: { patient: { name: 'Mia' }, weight: '4.1' } });
  await phone.hide(FIVE);
  assert.equal(app.screen, 'locked');
  assert.ok(!JSON.stringify(app.state.state.form).includes('Mia'));
  await open(app);
  assert.deepEqual([app.screen, app.state.state.form.patient.name, app.state.state.form.weight], ['start', 'Mia', '4.1']);
});

test('catalogue 63: ten wrong PINs block the phone, over restarts and windows, and the right one no longer opens', async () => {
  const { phone, app } = await paired();
  await app.lock.lockNow();
  let one = await phone.start();
  const two = await phone.start(true);
  for (let turn = 0; turn < 4; turn += 1) {
    await one.lock.tryPin('1111', () => one.enter());
    await two.lock.tryPin('2222', () => two.enter());
  }
  one = await phone.start();
  assert.equal(one.vault.triesLeft(), 2);
  await one.lock.tryPin('12', () => one.enter());
  assert.equal(one.vault.triesLeft(), 2, 'what is no PIN is no try');
  await one.lock.tryPin('1111', () => one.enter());
  await one.lock.tryPin('1111', () => one.enter());
  assert.equal(one.vault.stateOfVault(), 'blocked');
  await open(one);
  assert.equal(one.screen, 'locked');
  one = await phone.start();
  await open(one);
  assert.equal(one.screen, 'locked');
  assert.equal((await phone.stored()).entries.size, 1, 'data kept');
});

test('catalogue 63: a forgotten PIN costs no entry: all goes sealed, and only then the phone begins anew', async () => {
  const { phone, app } = await paired();
  await app.lock.lockNow();
  practice.line = 'cut';
  await assert.rejects(app.lock.startAnew(), /out of reach/);
  assert.equal((await phone.stored()).meta.has('lock'), true, 'nothing was changed');
  assert.equal(await app.journal.closeSealedRows(), false, 'nothing is closed while something waits');
  practice.line = 'lost';
  await assert.rejects(app.lock.startAnew(), /out of reach/);
  assert.equal((await phone.stored()).meta.has('lock'), true);
  practice.line = 'good';
  await app.lock.startAnew();
  const { meta, entries } = await phone.stored();
  assert.deepEqual([meta.has('lock'), meta.has('token'), [...entries.values()].map((row) => row.closed)], [false, false, [1]]);
  assert.deepEqual([...practice.held.keys()], [...entries.keys()]);
  const again = await phone.start();
  assert.equal(again.screen, 'list');
  const [next] = await again.write('e1', 'noted', { about: 'exam', text: 'afterwards' });
  assert.deepEqual([next.seq, next.prev], [2, [...entries.keys()][0]], 'the chain goes on');
});

test('a locked phone sends what lies sealed, and so learns that it is revoked', async () => {
  const { phone, app } = await paired();
  await app.lock.lockNow();
  await app.round();
  assert.deepEqual([practice.held.size, app.state.state.sync.pending, app.state.state.sync.code], [1, 0, 'locked']);
  practice.tokens.set('first', 'revoked');
  await app.round();
  const { meta, entries } = await phone.stored();
  assert.deepEqual([entries.size, meta.has('cleared'), meta.has('token'), meta.has('lock')], [0, true, false, false]);
});

test('catalogue 65: revoked while offline changes nothing on the phone until contact, and it still locks itself', async () => {
  const { phone, app } = await paired();
  practice.line = 'cut';
  practice.tokens.set('first', 'revoked');
  await app.round();
  assert.deepEqual([app.screen, app.state.state.sync.revoked], ['list', false]);
  await phone.hide(FIVE);
  assert.equal(app.screen, 'locked');
  await open(app);
  assert.equal(app.screen, 'list');
  await app.write('e1', 'noted', { about: 'exam', text: 'written while nobody could tell' });
  practice.line = 'good';
  await app.round();
  assert.equal(practice.held.size, 2);
  assert.equal((await phone.stored()).entries.size, 0);
});

test('catalogue 64: a revoked phone clears itself only when the receipt covers all, and never under an exam in hand', async () => {
  const { phone, app } = await paired();
  await app.beginExam('e2', 'Otto');
  practice.tokens.set('first', 'revoked');
  practice.line = 'lost';
  await app.round();
  assert.equal((await phone.stored()).entries.size, 2, 'the practice has them, but no receipt came');
  practice.line = 'good';
  await app.round();
  assert.deepEqual([practice.held.size, (await phone.stored()).entries.size, app.screen], [2, 2, 'exam']);
  await app.write('e2', 'noted', { about: 'exam', text: 'the exam goes on' });
  await app.leaveExam(true);
  await app.round();
  assert.deepEqual([practice.held.size, (await phone.stored()).entries.size], [4, 0]);
});

test('another window cannot put an old PIN back, nor write in the clear behind a new one', async () => {
  const { phone, app } = await paired('');
  const other = await phone.start(true);
  await app.lock.setPin('2468');
  await other.write('e1', 'noted', { about: 'exam', text: 'from the other window' });
  assert.ok([...(await phone.stored()).entries.values()].every((row) => row.sealed && !row.body));
  assert.equal(await app.vault.changePin('2468', '9753'), 'changed');
  assert.equal(await other.vault.unlock('2468'), 'wrong');
  assert.equal(await other.vault.unlock('9753'), 'open');
  assert.equal(await app.vault.unlock('2468'), 'wrong');
});

test('a window that never heard of the PIN writes nothing in the clear', async () => {
  const { phone, app } = await paired('');
  const other = await phone.start(true);
  phone.noMessages();
  await app.lock.setPin('2468');
  await assert.rejects(other.write('e1', 'noted', { about: 'exam', text: 'from a deaf window' }), /locked/);
  await assert.rejects(other.journal.storePulled([{ header: '{}', body: '{}' }]), /locked/);
  assert.equal((await phone.stored()).entries.size, 1);
  await other.vault.unlock('2468');
  await other.write('e1', 'noted', { about: 'exam', text: 'now sealed' });
  assert.ok([...(await phone.stored()).entries.values()].every((row) => row.sealed && !row.body));
});

test('a PIN whose sealing was interrupted is finished at the next opening', async () => {
  const { phone, app } = await paired('');
  assert.equal(await app.vault.makeLock('2468', practice.key), true);
  const again = await phone.start();
  assert.equal(again.screen, 'locked');
  assert.ok([...(await phone.stored()).entries.values()].some((row) => row.body));
  await open(again);
  assert.ok([...(await phone.stored()).entries.values()].every((row) => row.sealed && !row.body));
});

test('the token lies wrapped, by a key that nobody can read out', async () => {
  const { phone, app } = await paired();
  const { meta } = await phone.stored();
  assert.ok(!JSON.stringify([...meta.values()]).includes('first'));
  assert.equal(meta.get('token_key').extractable, false);
  await assert.rejects(crypto.subtle.exportKey('raw', meta.get('token_key')));
  assert.equal(await app.token.readToken(), 'first');
  await app.db.setMeta('token', 'as earlier versions kept it');
  assert.equal(await app.token.readToken(), 'as earlier versions kept it');
  assert.ok((await phone.stored()).meta.get('token').data);
});

test('every PIN is stretched 600,000 times', () => {
  assert.ok(stretched.length > 20);
  assert.ok(stretched.every((times) => times === 600000));
});
