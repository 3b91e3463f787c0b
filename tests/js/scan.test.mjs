/** Which text of a picture is taken for the desk's code. */
import assert from 'node:assert/strict';
import { register } from 'node:module';
import { test } from 'node:test';

register('./resolve.mjs', import.meta.url);
const { ScanProblem, secretOf } = await import('../../static/app/scan.js');
const HERE = 'https://gelside.lan:8443';
const SECRET = 'abcdefghijklmnopqrstu_';

test('the desk\'s link gives its secret, and only here', () => {
  assert.equal(secretOf(`${HERE}/#pair=${SECRET}`, HERE), SECRET);
  assert.throws(() => secretOf(`https://other.lan/#pair=${SECRET}`, HERE), (error) => error instanceof ScanProblem && /is for https:\/\/other\.lan/.test(error.message));
  for (const text of ['', 'https://gelside.lan:8443/', `${HERE}/#phone=${SECRET}`, `${HERE}/#pair=short`, `javascript:alert(1)//${HERE}/#pair=${SECRET}`]) {
    assert.throws(() => secretOf(text, HERE), ScanProblem, text);
  }
});
