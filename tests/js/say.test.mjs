/** Proposals of the strict reader and a person's answers: what is asked, what is written. */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { actsOf, nextQuestion, words } from '../../static/app/say-words.js';

const LENGTH = { id: 'kidney.left.length', label: 'LEFT kidney, length', unit: 'mm', usual: { dog: { from: '25', to: '100' } }, plausible: { from: '15', to: '140' } };
const world = {
  label: (id) => ({ 'kidney.left.length': 'LEFT kidney, length', 'kidney.right.length': 'RIGHT kidney, length', spleen: 'Spleen', 'adrenal.right': 'RIGHT adrenal', 'adrenal.right.cranial_pole': 'RIGHT adrenal, cranial pole' })[id] || id,
  quantity: (id) => (id.endsWith('length') ? LENGTH : null),
  seenWords: (seen) => seen.replace(/_/g, ' '),
  reasons: ['gas', 'ribs'],
  species: 'dog',
  here: 'spleen',
  claim: () => ({ words: 'seen, normal', seen: 'whole', normal: true, why: [] }),
};
const read = (more) => ({ do: 'read', asks: [], said: 'said so', quantity: 'kidney.left.length', values: ['42'], typed: ['4.2'], typed_units: ['cm'], unit: 'mm', ...more });
const none = () => ({});

test('nothing is written before side and unit are answered, in this order', () => {
  const one = read({ quantity: 'kidney.?.length', asks: ['side', 'unit'] });
  assert.equal(words(one, {}, world), 'kidney, length: 4.2, unit not said');
  assert.equal(nextQuestion(one, {}, world).name, 'side');
  const unit = nextQuestion(one, { side: 'right' }, world);
  assert.deepEqual(unit.choices.map((choice) => choice.words), ['4.2 mm (0.42 cm)', '42 mm (4.2 cm)']);
  const answers = { side: 'right', unit: 'cm' };
  assert.equal(nextQuestion(one, answers, world), null);
  assert.deepEqual(actsOf(one, answers, world, none).map((act) => act.body), [
    { about: 'kidney.right.length', value: '42', unit: 'mm', typed: '4.2', typed_unit: 'cm', said: 'said so' },
  ]);
});

test('the other unit than the one offered is asked about as a value', () => {
  const one = read({ asks: ['unit'] });
  const asked = nextQuestion(one, { unit: 'mm' }, world);
  assert.equal(asked.name, 'value');
  assert.ok(asked.choices.some((choice) => choice.words === 'yes, 4.2 mm (0.42 cm)'));
  assert.deepEqual(actsOf(one, { unit: 'mm', sure: true }, world, none)[0].body.value, '4.2');
});

test('a value that was chosen instead is what was typed', () => {
  const one = read({ values: ['4.2'], typed_units: ['mm'], asks: ['value'], tenfold: [['42']] });
  const chosen = nextQuestion(one, {}, world).choices.find((choice) => choice.set.value);
  assert.equal(chosen.words, '42 mm (4.2 cm)');
  assert.deepEqual(actsOf(one, chosen.set, world, none)[0].body, { about: 'kidney.left.length', value: '42', unit: 'mm', typed: '42', typed_unit: 'mm', said: 'said so' });
});

test('numbers that were not plain are offered one by one, or typed', () => {
  const one = read({ values: [], heard: ['60', '70'], asks: ['value'] });
  assert.deepEqual(nextQuestion(one, {}, world).choices.map((choice) => choice.words), ['60 mm (6.0 cm)', '70 mm (7.0 cm)', 'type it']);
  assert.equal(nextQuestion(one, { value: ['60'] }, world), null);
});

test('a part that was not seen asks for its reason', () => {
  const one = { do: 'seen', asks: [], said: 'x', structure: 'adrenal.right', part: 'cranial_pole', seen: 'not_seen', why: null, normal: false };
  assert.equal(nextQuestion(one, {}, world).name, 'reason');
  const answers = { why: ['gas'] };
  assert.equal(words(one, answers, world), 'RIGHT adrenal, cranial pole: not seen (gas)');
  assert.deepEqual(actsOf(one, answers, world, none)[0].body, { about: 'adrenal.right.cranial_pole', seen: 'not_seen', why: ['gas'], normal: false, said: 'x' });
});

test('a "none" is written in capitals', () => {
  const one = { do: 'finding', asks: [], said: 'no free fluid', structure: 'spleen', part: null, finding: 'none', dimensions: [], unit: 'mm' };
  assert.equal(words(one, {}, world), 'Spleen: NONE');
  assert.deepEqual(actsOf(one, {}, world, none)[0].body, { about: 'spleen', finding: 'none', said: 'no free fluid' });
});

test('words of a list join those that stand there, one set for each list, and a side is asked for', () => {
  const one = { do: 'describe', asks: ['side'], said: 'kidney margin dented', structure: 'kidney.?', described: [{ list: 'margin', title: 'margin', words: ['dented'] }] };
  const here = { ...world, described: (about) => (about === 'kidney.left.margin' ? ['smooth'] : []) };
  assert.equal(nextQuestion(one, {}, here).name, 'side');
  assert.match(words(one, { side: 'left' }, here), /: margin dented$/);
  assert.deepEqual(actsOf(one, { side: 'left' }, here, () => ({})), [
    { kind: 'set', slot: 'kidney.left.margin', body: { about: 'kidney.left.margin', value: ['smooth', 'dented'], said: 'kidney margin dented' } },
  ]);
});
