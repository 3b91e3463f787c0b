/**
 * Two phones, a copy of one, the desk and the practice's own server by chance (rig/five.mjs). Whatever happened: all that
 * was kept is there once, to the byte, on every side; and once the faults stop, all queues are empty soon.
 * GELSIDE_SEED=n plays one world alone, GELSIDE_STEPS=n makes worlds longer, GELSIDE_WORLDS=n more of them (20 in
 * tests/checks.py, ten thousand steps). A death of the server within a push falls by the machine's own clock: a seed
 * brings the same acts again, not always the same moment.
 * A journal that failed, shrunk, belongs into tests/corpus.
 */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { play } from './rig/worlds.mjs';

const { GELSIDE_SEED, GELSIDE_STEPS = '500', GELSIDE_WORLDS = '2' } = process.env;
const STEPS = Number(GELSIDE_STEPS);
const SEEDS = GELSIDE_SEED ? [Number(GELSIDE_SEED)] : Array.from({ length: Number(GELSIDE_WORLDS) }, (_, place) => place + 1);

test('catalogue 35, 41, 42: thousands of steps of five actors lose nothing, double nothing, and come to rest', async (context) => {
  const played = await play(SEEDS, STEPS);
  const sum = {};
  for (const { seed, did, error } of played) {
    if (error) context.diagnostic(`GELSIDE_SEED=${seed}: ${JSON.stringify(did)}`);
    for (const [name, many] of Object.entries(did)) sum[name] = (sum[name] || 0) + many;
  }
  assert.deepEqual(played.flatMap(({ seed, error }) => (error ? [`seed ${seed}: ${error}`] : [])), []);
  assert.equal(played.length, SEEDS.length, 'every world was played to its end');
  const total = (name) => played.reduce((all, one) => all + one[name], 0);
  context.diagnostic(`${SEEDS.length} worlds of ${STEPS} steps, ${total('entries')} entries, ${total('requests')} requests: ${JSON.stringify(sum)}`);
});
