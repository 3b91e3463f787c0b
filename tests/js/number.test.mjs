import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { NumberProblem, bothUnits, compare, isWhole, mayHoldStray, question, readNumber, shift, stepped } from '../../static/app/number.js';

const tables = new URL('../../webapp/core/tables/', import.meta.url);
const catalogue = JSON.parse(readFileSync(new URL('catalogue.json', tables), 'utf8'));
const pole = catalogue.quantities.find((one) => one.id === 'adrenal.left.caudal_pole_thickness');
const kidney = catalogue.quantities.find((one) => one.id === 'kidney.left.length');

test('comma and point, a unit written along, and the machine in cm', () => {
  assert.deepEqual(readNumber('6,2', 'mm', 'mm'), { value: '6.2', unit: 'mm', typed: '6,2', typed_unit: 'mm' });
  assert.equal(readNumber('6.2', 'mm', 'mm').value, '6.2');
  assert.equal(readNumber('41.2 mm', 'cm', 'mm').value, '41.2');
  assert.deepEqual(readNumber('0.64 cm', 'mm', 'mm'), { value: '6.4', unit: 'mm', typed: '0.64 cm', typed_unit: 'cm' });
  assert.equal(readNumber('0,64', 'cm', 'mm').value, '6.4');
  assert.equal(readNumber('4.2', 'cm', 'mm').value, '42');
  assert.equal(readNumber('6.20', 'mm', 'mm').value, '6.20', 'the digits someone wrote stay');
});

test('what cannot be a number is refused in words, with a code', () => {
  const code = (text, target = 'mm') => {
    try {
      readNumber(text, 'mm', target);
    } catch (error) {
      assert.ok(error instanceof NumberProblem);
      assert.ok(error.message.length > 10);
      return error.code;
    }
    return null;
  };
  assert.equal(code(''), 'empty');
  assert.equal(code('   '), 'empty');
  assert.equal(code('6.2.1'), 'two_points');
  assert.equal(code('6,2,'), 'two_points');
  assert.equal(code('.'), 'no_digits');
  assert.equal(code('abc'), 'no_digits');
  assert.equal(code('-3'), 'negative');
  assert.equal(code('.5'), 'open_point');
  assert.equal(code('5.'), 'open_point');
  assert.equal(code('1e3'), 'unknown_unit');
  assert.equal(code('6.2 kg'), 'wrong_unit');
  assert.equal(code('6.2 mm', 'mL'), 'wrong_unit');
  assert.equal(code('٤٢'), 'no_digits');
  assert.equal(code('1234567890123'), 'too_long');
});

test('moving the point is exact in both directions', () => {
  assert.equal(shift('0.64', 1), '6.4');
  assert.equal(shift('6.4', -1), '0.64');
  assert.equal(shift('0.4', -2), '0.004');
  assert.equal(shift('42', 1), '420');
  assert.equal(shift('1.005', 1), '10.05');
  assert.deepEqual(bothUnits('6.2', 'mm'), { mm: '6.2', cm: '0.62' });
  for (let tenths = 0; tenths < 2000; tenths += 7) {
    const text = `${Math.floor(tenths / 10)}.${tenths % 10}`;
    assert.equal(compare(shift(shift(text, 1), -1), text), 0);
  }
});

test('a slip of the point or of the unit is asked about, never altered', () => {
  const offers = (text, quantity, species = 'dog') => question(readNumber(text, 'mm', 'mm'), quantity, species)?.offers.map((one) => one.value);
  assert.deepEqual(offers('62', pole), ['6.2']);
  assert.deepEqual(offers('620', pole), ['6.2']);
  assert.deepEqual(offers('0.64', pole), ['6.4']);
  assert.equal(offers('6.2', pole), undefined);
  assert.deepEqual(offers('4.2', kidney), ['42']);
  assert.deepEqual(offers('420', kidney), ['42'], 'a tenth lies inside');
  assert.equal(offers('38.5', pole)?.[0], '3.85', 'a mass is asked about too; the person says yes');
});

test('a step of the caliper is exact, in the machine\'s unit, and never below nothing', () => {
  for (const [typed, by, unit, moved] of [
    ['6.4', '+0.1', 'mm', '6.5'], ['6.4', '-1', 'mm', '5.4'], ['6', '+0.1', 'mm', '6.1'], ['9.9', '+0.1', 'mm', '10.0'], ['0.29', '+0.1', 'mm', '0.39'],
    ['0.64', '+0.1', 'cm', '0.65'], ['0.64', '-1', 'cm', '0.54'], ['6,4', '+1', 'mm', '7.4'], ['0.05', '-0.1', 'mm', '0.00'], ['41.2 mm', '+1', 'mm', '41.2 mm'], ['', '+1', 'mm', ''],
  ]) assert.equal(stepped(typed, by, unit), moved, `${typed} ${by} ${unit}`);
});

test('a number is whole at its tenth of a millimetre, in either unit, and no sooner', () => {
  for (const typed of ['6.2', '42.1', '6,2', '0.4', '120.5']) assert.equal(isWhole(typed, 'mm'), true, typed);
  for (const typed of ['6', '62', '6.', '.2', '6.23', '6.2.', '6.2 m', '']) assert.equal(isWhole(typed, 'mm'), false, typed);
  for (const typed of ['0.62', '4,21', '12.05']) assert.equal(isWhole(typed, 'cm'), true, typed);
  for (const typed of ['0.6', '4', '4.', '4.213']) assert.equal(isWhole(typed, 'cm'), false, typed);
});

test('a digit too many behind a number that kept itself is told from a number of its own', () => {
  const stray = (typed, before, quantity = pole, unit = 'mm') => mayHoldStray(typed, before, unit, quantity, 'dog');
  assert.ok(stray('1', '2.4'), 'the digit alone');
  assert.ok(stray('12.0', '2.4'), 'the next number behind it: 2.0 would be one, and 12.0 would pass');
  assert.ok(stray('43,1', '2,4'));
  assert.ok(stray('541.8', '42.1', kidney));
  assert.ok(stray('40.63', '0.62', pole, 'cm'));
  assert.ok(!stray('2.5', '2.4'));
  assert.ok(!stray('10.2', '9.8'), '0.2 is no number of its own here');
  assert.ok(!stray('6.2 mm', '2.4'), 'what was pasted is no finger that went on');
  const node = catalogue.quantities.find((one) => one.id === 'node.jejunal.length');
  assert.ok(!stray('14.8', '8.6', node), 'a length after a thickness, kept by the key');
  assert.ok(stray('1', '8.6', node));
});
