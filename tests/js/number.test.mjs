import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { NumberProblem, bothUnits, compare, question, readNumber, shift } from '../../static/app/number.js';

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
