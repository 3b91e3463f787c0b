import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { comparisonNumber, normalisedCode } from '../../static/app/codes.js';

const codes = fileURLToPath(new URL('../../webapp/pairing/codes.py', import.meta.url));

/** Run the desk's own module, loaded by its path so that nothing else of the server is needed. */
function desk(expression) {
  const script = `import importlib.util,json,sys\nspec=importlib.util.spec_from_file_location("codes", ${JSON.stringify(codes)})\nm=importlib.util.module_from_spec(spec)\nspec.loader.exec_module(m)\nprint(json.dumps(${expression}))`;
  return JSON.parse(execFileSync('python3', ['-c', script], { encoding: 'utf8' }));
}

test('a typed code is read alike on both sides', () => {
  const typed = ['abcde-fgh01', ' oil10 - zzzzz ', 'OOOOO-LLLLL', '0123456789'];
  assert.deepEqual(typed.map(normalisedCode), desk(`[m.normalised(x) for x in ${JSON.stringify(typed)}]`));
});

test('phone and desk make the same six digits on their own', async () => {
  const device = '0f'.repeat(16);
  const proofs = ['ABCDEFGH01', 'k3yk3yk3yk3yk3yk3yk3yA', 'x'];
  const ours = await Promise.all(proofs.map((proof) => comparisonNumber(proof, device)));
  assert.deepEqual(ours, desk(`[m.number(x, "${device}") for x in ${JSON.stringify(proofs)}]`));
  assert.ok(ours.every((number) => /^\d{6}$/.test(number)));
});
