import assert from 'node:assert/strict';
import { test } from 'node:test';
import { datesIn, dayWords, momentWords } from '../../static/app/dates.js';

test('a day is told as people write it, with its year when that is another one', () => {
  assert.equal(dayWords('2026-11-16', 2026), '16 Nov');
  assert.equal(dayWords('2026-03-05T10:00:00+01:00', 2027), '5 Mar 2026');
  for (const text of ['', null, 'last week', '2026-13-01']) assert.equal(dayWords(text, 2026), text || '');
});

test('a day within words is told so too', () => {
  assert.equal(datesIn('scales on 2026-11-19', 2026), 'scales on 19 Nov');
  assert.equal(datesIn('no. 12-34', 2026), 'no. 12-34');
});

test('a moment keeps the clock that wrote it', () => {
  const year = new Date().getFullYear();
  assert.equal(momentWords(`${year}-11-24T10:41:09+01:00`), '24 Nov, 10:41');
  assert.equal(momentWords('1999-11-24'), '24 Nov 1999');
});
