import assert from 'node:assert/strict';
import { test } from 'node:test';
import { answerOf, asksForReason, recordsBehind } from '../../static/app/answers.js';
import { viewOf } from '../../static/app/exam-view.js';

const inputs = (about) => (about === 'adrenal.left.maximum_thickness' ? ['adrenal.left.caudal_pole_thickness', 'adrenal.left.cranial_pole_thickness'] : []);

function exam(...acts) {
  const rows = [['o', 'opened', { about: 'exam', date: '2026-11-24', patient: {} }, []], ...acts];
  return viewOf(rows.map(([id, kind, body, of = []], place) => ({ id, kind, body, of, after: [], device: 'd', seq: place + 1, exam: 'e', patient: 'p', at: '2026-11-24T10:00:00+00:00' })));
}

const read = (id, about, value) => [id, 'read', { about, value, unit: 'mm' }];
const line = { about: 'adrenal.left.maximum_thickness', kind: 'above_limit', grade: 'outside' };
const reason = (id, of) => [id, 'acknowledged', { about: line.about, flag: line.kind, reason: 'measured again, the same' }, of];

test('a reason names the readings behind the line, also those a value was derived from', () => {
  const view = exam(read('r1', 'adrenal.left.caudal_pole_thickness', '7.4'), read('r2', 'kidney.left.length', '70'));
  assert.deepEqual(recordsBehind(line, view, inputs), ['r1']);
});

test('a reason holds until a further reading comes, and again once that one is struck', () => {
  const first = [read('r1', 'adrenal.left.caudal_pole_thickness', '7.4'), reason('a', ['r1'])];
  assert.equal(answerOf(line, exam(...first), inputs)?.id, 'a');
  const more = [...first, read('r3', 'adrenal.left.cranial_pole_thickness', '8.0')];
  assert.equal(answerOf(line, exam(...more), inputs), null);
  assert.equal(answerOf(line, exam(...more, ['s', 'struck', { about: 'x', why: 'slip' }, ['r3']]), inputs)?.id, 'a');
});

test('a struck reason no longer counts, and a reason for another kind of line never did', () => {
  const acts = [read('r1', 'adrenal.left.caudal_pole_thickness', '7.4'), reason('a', ['r1'])];
  assert.equal(answerOf(line, exam(...acts, ['s', 'struck', { about: 'x', why: 'undo' }, ['a']]), inputs), null);
  assert.equal(answerOf({ ...line, kind: 'near_limit' }, exam(...acts), inputs), null);
});

test('a line about a place stands on the findings and states of that place', () => {
  const view = exam(['f', 'found', { about: 'vena_cava', finding: 'material' }], ['s', 'seen', { about: 'vena_cava', seen: 'whole', why: [] }]);
  assert.deepEqual(recordsBehind({ about: 'vena_cava' }, view, inputs).sort(), ['f', 's']);
});

test('only lines that ask for something take a reason', () => {
  assert.deepEqual(['tell_someone', 'outside', 'look_again', 'note'].map((grade) => asksForReason({ about: 'x', grade })), [true, true, true, false]);
});
