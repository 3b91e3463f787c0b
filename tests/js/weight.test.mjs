import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { NumberProblem } from '../../static/app/number.js';
import { kilograms, weightEcho, weightOf, weightWords } from '../../static/app/weight.js';

const root = new URL('../../', import.meta.url);
const DOG = { from: '0.3', to: '130' };

/** The core's typed reader in MicroPython, as on the phone. */
async function reader() {
  const { loadMicroPython } = await import(new URL('sw/node_modules/@micropython/micropython-webassembly-pyscript/micropython.mjs', root));
  const python = await loadMicroPython({ heapsize: 4 * 1024 * 1024, pystack: 16 * 1024 });
  python.FS.mkdir('/core');
  for (const name of readdirSync(fileURLToPath(new URL('webapp/core/', root)))) {
    if (name.endsWith('.py')) python.FS.writeFile(`/core/${name}`, readFileSync(new URL(`webapp/core/${name}`, root), 'utf8'));
  }
  python.runPython('import sys\nsys.path.insert(0, "/")\nfrom core import typed, decimals\ndef kg(text, unit):\n    return typed.read(text, unit, "kg")["value"]\ndef shown(text):\n    return typed.kilograms(text)\ndef same(a, b):\n    return decimals.compare(decimals.parse(a), decimals.parse(b)) == 0\n');
  return ['kg', 'shown', 'same'].map((name) => python.globals.get(name));
}

test('pounds become kilograms by the exact pound of 1959, and both are told', () => {
  // 18.5 x 0.45359237, by hand: 8.391458845.
  assert.deepEqual(weightOf('18.5', 'lb'), { value: '8.391458845', typed: '18.5', typed_unit: 'lb' });
  assert.equal(weightEcho('18.5', 'lb'), '18.5 lb = 8.39 kg');
  assert.equal(weightOf('1', 'lb').value, '0.45359237');
  assert.equal(weightOf('100', 'lb').value, '45.359237');
  assert.equal(weightWords({ weight_kg: '8.391458845', weight_typed: '18.5', weight_typed_unit: 'lb' }), '8.39 kg (18.5 lb)');
  assert.equal(weightWords({ weight_kg: '34.2', weight_typed: '34.2', weight_typed_unit: 'kg' }), '34.2 kg');
  assert.equal(weightWords({}), 'weight unknown');
});

test('kilograms stay as they were typed', () => {
  assert.deepEqual(weightOf('8,40', 'kg', DOG), { value: '8.40', typed: '8,40', typed_unit: 'kg' });
  assert.equal(weightOf('18.5 lb', 'kg').value, '8.391458845', 'a unit written along wins');
  assert.equal(weightEcho('8.4', 'kg'), '');
  assert.equal(weightEcho('18.', 'lb'), '18. lb = 8.16 kg');
  assert.equal(weightEcho('', 'lb'), '');
});

test('no class edge is crossed by showing two decimals: what is kept is exact', () => {
  // 22.05 lb is 10.0017... kg: over 10 kg, though two decimals show 10.00.
  const { value } = weightOf('22.05', 'lb');
  assert.equal(value, '10.0017117585');
  assert.equal(kilograms(value), '10.00');
  assert.equal(kilograms('0.99999'), '1.00');
  assert.equal(kilograms('3.215'), '3.215');
});

test('a weight that no dog has, nothing, and another unit are asked about', () => {
  const code = (text, unit = 'kg') => {
    try {
      weightOf(text, unit, DOG, 'dog');
    } catch (error) {
      assert.ok(error instanceof NumberProblem);
      return error.code;
    }
    return null;
  };
  assert.equal(code('842'), 'weight');
  assert.equal(code('842', 'lb'), 'weight');
  assert.equal(code('0.0'), 'weight');
  assert.equal(code(''), 'empty');
  assert.equal(code('4 mm'), 'wrong_unit');
  assert.equal(code('84', 'lb'), null);
});

test('the phone and the core reckon and show the same kilograms', async () => {
  const [kg, shown, same] = await reader();
  for (let tenths = 1; tenths < 3000; tenths += 37) {
    for (const text of [`${Math.floor(tenths / 10)}.${tenths % 10}`, `${Math.floor(tenths / 10)},${tenths % 10}5`]) {
      for (const unit of ['lb', 'kg', 'g']) {
        const { value } = weightOf(text, unit);
        assert.ok(same(value, kg(text, unit)), `${text} ${unit}: ${value} and ${kg(text, unit)}`);
        assert.equal(kilograms(value), shown(value), value);
      }
    }
  }
});
