import assert from 'node:assert/strict';
import { test } from 'node:test';
import { likely } from '../../static/app/candidates.js';
import { viewOf } from '../../static/app/exam-view.js';
import { compareChip, digitsOf, withChip } from '../../static/app/microchip.js';
import { moveActs, unitOfMove } from '../../static/app/moved.js';
import { PREPARATION, answerWords, chosen, stands } from '../../static/app/preparation.js';
import { changedWords, forkWords } from '../../static/app/visit-words.js';

const BELLA = { name: 'Bella', species: 'cat', weight_kg: '4.1', weight_source: 'record', microchip: '985112001234567' };
const MAX = { name: 'Max', species: 'dog', sex: 'male', weight_kg: '22.0', weight_source: 'record', weight_date: '2026-08-01' };

/** Entries of one device; `more` overrides header fields. */
function journal(...acts) {
  return acts.map(([id, kind, body, more = {}], place) => ({
    v: 1, device: 'd', seq: place + 1, prev: '', exam: 'e', patient: 'bella', author: 'VS', behalf: null,
    at: `2026-11-24T10:00:${String(place).padStart(2, '0')}+00:00`, kind, after: [], of: [], body_hash: '', id, body, ...more,
  }));
}

const opened = ['o', 'opened', {
  about: 'exam', date: '2026-11-24', visit: 'v1', patient: BELLA, question: { text: 'kidneys?', structures: ['kidney.left'] },
  context: { steroids: 'yes', treatments: ['steroid'], fasted: true },
}];
const weighed = [
  ['w', 'set', { about: 'patient.weight_kg', value: '21.4', typed: '21.4', typed_unit: 'kg' }],
  ['s', 'set', { about: 'patient.weight_source', value: 'scales today' }],
];
const toMax = { id: 'max', patient: MAX, question: { text: 'prostate?', structures: ['prostate'] }, context: { steroids: 'no' } };

/** The entries that the acts of a move become. */
function moved(entries, acts) {
  const heads = (slots) => entries.filter((entry) => slots.includes(String(entry.body.about))).map((entry) => entry.id);
  const at = '2026-11-24T10:30:00+00:00';
  return [...entries, ...acts.map((act, place) => ({
    ...entries[0], seq: entries.length + 1 + place, at, kind: act.kind, id: `m${place}`, body: act.body, patient: act.patient, of: act.of || [],
    after: heads(act.slots || [act.slot]),
  }))];
}

test('a moved exam follows the right animal: its facts, what was weighed today, and both names', () => {
  const before = journal(opened, ...weighed);
  const view = viewOf(before);
  const acts = moveActs(view, before[0], before, toMax, 'opened the wrong animal');
  const after = viewOf(moved(before, acts));
  assert.equal(after.patientId, 'max');
  assert.equal(after.patient.name, 'Max');
  assert.equal(after.patient.species, 'dog');
  assert.equal(after.patient.weight_kg, '21.4');
  assert.equal(after.patient.weight_source, 'scales today');
  assert.equal(after.patient.microchip, undefined, 'nothing of the wrong animal is left');
  assert.deepEqual(after.moved[0].from, { id: 'bella', name: 'Bella', species: 'cat' });
  assert.deepEqual(after.moved[0].to, { id: 'max', name: 'Max', species: 'dog' });
  assert.deepEqual(acts[0].slots, ['exam.patient', 'patient.weight_kg', 'patient.weight_source']);
});

test('a weight that nobody took today stays with its own record', () => {
  const before = journal(opened);
  const [act] = moveActs(viewOf(before), before[0], before, toMax, '');
  assert.equal(act.body.value.weight_kg, '22.0');
  assert.equal(act.body.value.weight_source, 'record');
});

test('the question and what the request told go along; what was said at the table stays', () => {
  const before = journal(opened, ['c', 'set', { about: 'context.treatments', value: ['diuretic'] }]);
  const after = viewOf(moved(before, moveActs(viewOf(before), before[0], before, toMax, '')));
  assert.equal(after.question.text, 'prostate?');
  assert.deepEqual(after.question.structures, ['prostate']);
  assert.equal(after.context.steroids, 'no', "the request's steroid was the other animal's");
  assert.deepEqual(after.context.treatments, ['diuretic'], 'said at the table');
  assert.equal(after.context.fasted, true);
});

test('a move that was taken back leaves the first animal and both names in the history', () => {
  const before = journal(opened, ...weighed);
  const there = moved(before, moveActs(viewOf(before), before[0], before, toMax, ''));
  const of = unitOfMove(there, 'm0');
  assert.deepEqual(of, ['m0', 'm1', 'm2', 'm3', 'm4'], 'the move and all that was recorded with it');
  const back = viewOf([...there, { ...there[0], seq: 20, id: 'x', kind: 'struck', body: { about: 'exam.patient', why: 'undo' }, of, after: [] }]);
  assert.equal(back.patientId, 'bella');
  assert.equal(back.patient.weight_kg, '21.4');
  assert.equal(back.question.text, 'kidneys?');
  assert.equal(back.context.steroids, 'yes');
  assert.equal(back.moved[0].struck, true);
  assert.equal(back.moved[0].to.name, 'Max');
});

test('two moves that did not see each other move nothing', () => {
  const before = journal(opened);
  const move = (id, device, value) => ({ ...before[0], device, seq: 9, id, kind: 'set', after: [], body: { about: 'exam.patient', value, from: { id: 'bella' }, why: '' } });
  const view = viewOf([...before, move('a', 'd', { id: 'max' }), move('b', 'f', { id: 'tom' })]);
  assert.equal(view.patientId, 'bella');
  assert.equal(view.moved.length, 2);
});

test('a chip number is compared from its end, and a difference is said plainly', () => {
  assert.equal(compareChip('4567', BELLA.microchip, 'Bella').says, 'match');
  assert.equal(compareChip('985112001234567', '985 112 001 234 567', 'Bella').says, 'match');
  assert.equal(compareChip('4568', BELLA.microchip, 'Bella').says, 'mismatch');
  assert.match(compareChip('4568', BELLA.microchip, 'Bella').words, /does NOT match the record of Bella/);
  assert.equal(compareChip('456', BELLA.microchip, 'Bella').says, 'short');
  assert.equal(compareChip('4567', null, 'Bella').says, 'no record');
  assert.equal(compareChip('985112001234568', '4568', 'Bella').says, 'match', 'a record that holds only the end');
  assert.equal(digitsOf('A-12 3'), '123');
  assert.deepEqual(withChip('4567', [{ patient: BELLA }, { patient: MAX }]).length, 1);
});

test('a walk-in is shown likely records with their reason, the surest first, and other species never', () => {
  const item = (patient) => ({ key: patient.name, visit: {}, patient });
  const items = [item(MAX), item(BELLA), item({ name: 'Maxi', species: 'dog' }), item({ name: 'Rufus', species: 'dog' })];
  const names = (said) => likely({ name: '', species: null, chip: '', ...said }, items).map(({ item: { key }, why }) => `${key}: ${why}`);
  assert.deepEqual(names({ name: 'max ' }), ['Max: the same name']);
  assert.deepEqual(names({ name: 'Maxy', species: 'dog' }), ['Maxi: a name alike, the same species']);
  assert.deepEqual(names({ name: 'bela', species: 'cat' }), ['Bella: a name alike, the same species']);
  assert.deepEqual(names({ name: 'Bella', species: 'dog' }), []);
  assert.deepEqual(names({ chip: '4567' }), ['Bella: the chip number']);
  assert.deepEqual(names({ species: 'dog' }), [], 'a species alone says too little');
});

test('each answer of the preparation is one choice; several drugs add up', () => {
  const of = (field) => PREPARATION.find((one) => one.field === field);
  assert.deepEqual(chosen(of('sedation'), undefined, 'butorphanol'), ['butorphanol']);
  assert.deepEqual(chosen(of('sedation'), ['butorphanol'], 'dexmedetomidine'), ['butorphanol', 'dexmedetomidine']);
  assert.deepEqual(chosen(of('sedation'), ['butorphanol'], 'butorphanol'), []);
  assert.deepEqual(chosen(of('sedation'), ['butorphanol'], 'none'), []);
  assert.equal(answerWords(of('sedation'), []), 'none');
  assert.equal(answerWords(of('sedation'), undefined), '');
  assert.equal(answerWords(of('fasted'), false), 'no');
  assert.equal(answerWords(of('fasted'), undefined), '');
  assert.equal(stands(of('recumbency'), ['dorsal'], 'dorsal'), true);
  assert.equal(answerWords(of('recumbency'), ['dorsal', 'left lateral']), 'dorsal, left lateral');
});

test('a changed visit says what it was; a fork names both answers and who gave them', () => {
  const planned = { body: { date: '2026-11-24', time: '09:30', place: 'room 1', sonographer: 'VS' } };
  const visit = { dates: ['2026-11-24'], time: '10:15', place: 'room 1', sonographer: 'KM' };
  assert.equal(changedWords(visit, planned, '2026-11-24'), 'was 09:30, was with VS');
  assert.equal(changedWords({ ...visit, time: '09:30', sonographer: 'VS' }, planned, '2026-11-24'), '');
  assert.match(changedWords({ ...visit, time: '09:30', sonographer: 'VS', dates: ['2026-11-25'] }, planned, '2026-11-25'), /^was planned for 24 Nov( 2026)?$/);
  const fork = { slot: 'visit.time', values: [{ value: '09:30', author: 'IF' }, { value: '10:00', author: 'RD' }] };
  assert.deepEqual(forkWords([fork]), ['two answers for time: 09:30 (IF) or 10:00 (RD)']);
});
