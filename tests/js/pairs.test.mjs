/** Pairs of a measuring twice, and where the next reading belongs. */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { nextPlace, ofAnAnimal, pairsOf, patternOf, twoPlaces } from '../../static/app/pairs.js';

const read = (id, pair, value = '6.2') => ({ id, kind: 'read', of: [], body: { about: 'aorta.diameter', pair, value } });
const strike = (id, ...of) => ({ id, kind: 'struck', of, body: {} });
const opened = { id: 'o', kind: 'opened', of: [], body: { purpose: 'measure_twice' } };

test('the second reading of a pair is wanted before the next pair begins', () => {
  assert.deepEqual(nextPlace(pairsOf([opened])), { pair: 1, reading: 1 });
  assert.deepEqual(nextPlace(pairsOf([opened, read('a', 1)])), { pair: 1, reading: 2 });
  assert.deepEqual(nextPlace(pairsOf([opened, read('a', 1), read('b', 1)])), { pair: 2, reading: 1 });
});

test('a struck reading gives its place back, also within an earlier pair', () => {
  const entries = [opened, read('a', 1), read('b', 1), read('c', 2), read('d', 2), strike('s', 'b')];
  assert.deepEqual(nextPlace(pairsOf(entries)), { pair: 1, reading: 2 });
  assert.deepEqual(nextPlace(pairsOf([opened, read('a', 1), strike('s', 'a')])), { pair: 1, reading: 1 });
});

test('an opening with a purpose belongs to no animal', () => {
  assert.equal(ofAnAnimal(opened), false);
  assert.equal(ofAnAnimal({ ...opened, body: {} }), true);
});

test('both sides teach one spread', () => {
  assert.equal(patternOf('adrenal.right.length'), 'adrenal.*.length');
  assert.equal(patternOf('aorta.diameter'), 'aorta.diameter');
});

test('two places are rounded half up by digits', () => {
  for (const [text, wanted] of [['0.2783', '0.28'], ['0.0050', '0.01'], ['0.0049', '0.00'], ['12.995', '13.00'], ['3', '3.00'], ['0.1', '0.10']]) {
    assert.equal(twoPlaces(text), wanted);
  }
});
