/** What may leave the phone, and when a revoked one may clear itself; the chip's words for what waits. */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { ageOf, chipWords } from '../../static/app/chip-words.js';
import { covered, oldGroups, sentSince } from '../../static/app/leaving.js';

const entry = (id, exam, patient, day, kind = 'read', body = {}) => ({ id, exam, patient, kind, at: `${day}T10:00:00+00:00`, body });

test('whole exams older than the days leave; the newest entry of an exam decides', () => {
  const entries = [
    entry('1', 'old', 'p1', '2026-10-01', 'opened'), entry('2', 'old', 'p1', '2026-10-02'),
    entry('3', 'late', 'p2', '2026-10-01', 'opened'), entry('4', 'late', 'p2', '2026-11-20', 'amended'),
    entry('5', null, 'p3', '2026-09-30', 'planned', { date: '2026-10-01' }),
  ];
  const groups = oldGroups(entries, { today: '2026-11-24', days: 30, inHand: null });
  assert.deepEqual(groups.map((group) => group.ids), [['1', '2'], ['5']]);
});

test('the edge: kept on the last day, gone on the next', () => {
  const entries = [entry('1', 'e', 'p', '2026-10-25')];
  assert.equal(oldGroups(entries, { today: '2026-11-24', days: 30, inHand: null }).length, 0);
  assert.equal(oldGroups(entries, { today: '2026-11-25', days: 30, inHand: null }).length, 1);
});

test('an animal of the coming list keeps its earlier exams, and the exam in hand stays', () => {
  const entries = [
    entry('1', 'earlier', 'p1', '2026-01-01'), entry('2', null, 'p1', '2026-11-20', 'planned', { date: '2026-11-24' }),
    entry('3', 'hand', 'p2', '2026-01-01'),
  ];
  assert.deepEqual(oldGroups(entries, { today: '2026-11-24', days: 30, inHand: 'hand' }), []);
});

test('an exam begun here stays until it is finished or signed; one of another phone leaves', () => {
  const begun = (id, exam, device) => ({ ...entry(id, exam, `p-${exam}`, '2026-01-01', 'opened', { date: '2026-01-01', patient: {} }), device, seq: 1, after: [], of: [] });
  const end = (id, exam, kind) => ({ ...entry(id, exam, `p-${exam}`, '2026-01-02', kind), device: 'here', seq: 2, after: [], of: [] });
  const now = { today: '2026-11-24', days: 30, inHand: null, names: ['here', 'before'] };
  const unfinished = [begun('1', 'a', 'here'), begun('2', 'b', 'before'), begun('3', 'c', 'elsewhere')];
  assert.deepEqual(oldGroups(unfinished, now).map((group) => group.key), ['c']);
  const finished = [...unfinished, end('4', 'a', 'closed'), end('5', 'b', 'signed')];
  assert.deepEqual(oldGroups(finished, now).map((group) => group.key), ['a', 'b', 'c']);
  const practice = { ...begun('6', 'd', 'here'), body: { date: '2026-01-01', purpose: 'repeatability', patient: {} } };
  assert.deepEqual(oldGroups([practice], now).map((group) => group.key), ['d'], 'a measuring twice is not an unfinished exam');
});

test('an animal whose visit was put off to a coming day keeps what it has here', () => {
  const entries = [entry('1', null, 'p1', '2026-09-01', 'planned', { date: '2026-09-10' }), entry('2', 'old', 'p1', '2026-01-02')];
  const putOff = { ...entry('3', null, 'p1', '2026-09-09', 'set', { about: 'visit.date', value: '2026-11-30' }), of: ['1'] };
  assert.equal(oldGroups(entries, { today: '2026-11-24', days: 30, inHand: null }).length, 2);
  assert.deepEqual(oldGroups([...entries, putOff], { today: '2026-11-24', days: 30, inHand: null }), []);
});

test('an animal\'s record leaves with the last of its exams, not before', () => {
  const record = (id, patient) => entry(id, null, patient, '2026-01-01', 'set', { about: 'patient.breed', value: 'Beagle' });
  const entries = [entry('1', 'old', 'p1', '2026-01-02'), record('2', 'p1'), entry('3', 'late', 'p2', '2026-11-20'), record('4', 'p2'), record('5', 'p3')];
  const groups = oldGroups(entries, { today: '2026-11-24', days: 30, inHand: null });
  assert.deepEqual(groups.map((group) => group.ids), [['1'], ['2'], ['5']]);
});

test('a revoked phone is covered only by a receipt that names all it has', () => {
  const has = { pending: 0, device: 'd', seq: 5, receipt: { store_id: 's', device: 'd', through: 5, held: 5, at: '' } };
  assert.equal(covered(has), true);
  assert.equal(covered({ ...has, pending: 1 }), false);
  assert.equal(covered({ ...has, receipt: null }), false);
  assert.equal(covered({ ...has, receipt: { ...has.receipt, through: 4 } }), false, 'a gap');
  assert.equal(covered({ ...has, receipt: { ...has.receipt, held: 4 } }), false);
  assert.equal(covered({ ...has, receipt: { ...has.receipt, device: 'other' } }), false);
  assert.equal(covered({ pending: 0, device: 'd', seq: 0, receipt: null }), true, 'nothing was ever written here');
});

const sync = { connected: true, revoked: false, phase: 'offline', reason: '', code: '', pending: 12, own: 40, held: 28, oldest: '2026-11-24T08:00:00Z', receipt: null, batch: 0, batches: 0 };
const at = (text) => new Date(text).getTime();

test('what waits says how long, louder after a day and after three', () => {
  assert.deepEqual([ageOf(sync, at('2026-11-24T20:00:00Z')), chipWords(sync, at('2026-11-24T20:00:00Z'))], ['calm', '12 not sent, oldest 12 h']);
  assert.deepEqual([ageOf(sync, at('2026-11-25T08:00:00Z')), ageOf(sync, at('2026-11-25T08:00:01Z'))], ['calm', 'old']);
  assert.equal(chipWords(sync, at('2026-11-25T09:00:00Z')), '12 not sent for over a day');
  assert.deepEqual([ageOf(sync, at('2026-11-27T08:00:00Z')), ageOf(sync, at('2026-11-27T08:00:01Z'))], ['old', 'late']);
  assert.equal(chipWords(sync, at('2026-11-28T08:00:00Z')), '12 not sent for over 3 days');
});

test('blocked says what a person has to do', () => {
  const now = at('2026-11-24T08:00:10Z');
  for (const [code, words] of [['unknown_phone', 'link needed: '], ['to_approve', 'approve at the desk: '], ['not_taken', 'not taken: '], ['too_large', 'too large: ']]) {
    assert.equal(chipWords({ ...sync, phase: 'blocked', code }, now), `${words}12 not sent`);
  }
  assert.equal(chipWords({ ...sync, phase: 'blocked', code: 'to_approve', pending: 0 }, now), 'approve at the desk');
});

test('pictures that are not sent are told beside the entries, also when all entries are there', () => {
  const sync = { phase: 'idle', connected: true, pending: 0, held: 5, own: 5, receipt: {}, photos: 1 };
  assert.equal(chipWords(sync), 'at the practice: 5 of 5; 1 photo or clip not sent');
  assert.equal(chipWords({ ...sync, pending: 2, photos: 3 }), '2 not sent; 3 photos or clips not sent');
});

test('catalogue 21: an exam written under a clock years behind leaves no sooner than the days after all of it was sent', () => {
  const entries = [entry('1', 'e', 'p', '2020-11-25', 'opened'), entry('2', 'e', 'p', '2020-11-25')];
  const gone = (today, sent) => oldGroups(entries, { today, days: 30, inHand: null, sent }).length;
  assert.deepEqual(sentSince(entries, new Set(['2']), {}, '2026-11-24'), {});
  const sent = sentSince(entries, new Set(), {}, '2026-11-24');
  assert.deepEqual(sent, { e: '2026-11-24' });
  assert.deepEqual(sentSince(entries, new Set(), sent, '2026-12-01'), sent);
  assert.deepEqual(sentSince([], new Set(), sent, '2026-12-01'), {});
  assert.deepEqual([gone('2026-11-24', sent), gone('2026-12-24', sent), gone('2026-12-25', sent)], [0, 0, 1]);
  assert.equal(gone('2026-12-25', {}), 0);
});
