import assert from 'node:assert/strict';
import { test } from 'node:test';
import { carried, fieldsOf, howWords, kept, pixelWords, quotient } from '../../static/app/circumstances.js';

test('a pixel is depth over rows, exact to two places', () => {
  assert.equal(quotient('300', '600'), '0.5');
  assert.equal(quotient('82', '600'), '0.14');
  assert.equal(quotient('120.5', '1080'), '0.11');
  assert.equal(quotient('1', '3'), '0.33');
  assert.equal(quotient('2', '3'), '0.67');
  assert.equal(quotient('600', '600'), '1');
  assert.equal(quotient('5', '0'), null);
});

test('the pixel is told only where both numbers are known', () => {
  assert.equal(pixelWords('300', '600'), 'one display pixel is 0.5 mm at this depth');
  assert.equal(pixelWords('300', null), null);
  assert.equal(pixelWords(undefined, '600'), null);
});

test('a reading carries what was chosen, and rows only beside a depth', () => {
  assert.deepEqual(fieldsOf({ cut: 'oblique' }, '600'), { cut: 'oblique' });
  assert.deepEqual(fieldsOf({ cut: 'oblique', depth_mm: '82' }, '600'), { cut: 'oblique', depth_mm: '82', rows: '600' });
  assert.deepEqual(fieldsOf({ depth_mm: '82' }, null), { depth_mm: '82' });
});

test('another structure keeps how the animal lies and the depth, not the cut or the frame', () => {
  const how = { cut: 'oblique', acquired: 'same_frame', recumbency: 'dorsal', depth_mm: '82', window: 'left_aorta' };
  assert.deepEqual(carried(how), { recumbency: 'dorsal', depth_mm: '82' });
  assert.deepEqual(howWords(how, (id) => `window ${id}`), ['oblique', 'same frame', 'dorsal', 'window left_aorta', 'depth 82 mm']);
});

test('an image number goes with one reading alone: the next is of another picture', () => {
  const how = { image: '14', window: 'left_aorta', recumbency: 'dorsal' };
  assert.deepEqual(fieldsOf(how, null), how);
  assert.deepEqual(kept(how), { window: 'left_aorta', recumbency: 'dorsal' });
  assert.deepEqual(carried(how), { recumbency: 'dorsal' });
  assert.deepEqual(howWords(how, (id) => id)[0], 'image 14');
});
