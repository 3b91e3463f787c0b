/**
 * Worlds of five actors on threads: each thread has a practice's server of its own and plays the seeds that it is handed.
 * Away from the test runner, which watches every promise of its own thread: a world makes millions of them.
 */
import assert from 'node:assert/strict';
import { availableParallelism } from 'node:os';
import { Worker, isMainThread, parentPort, workerData } from 'node:worker_threads';
import { Five, ROUNDS } from './five.mjs';
import { RealPractice } from './real.mjs';

const MOST_THREADS = 2;

/** @typedef {{seed: number, did: Record<string, number>, entries: number, requests: number, error?: string}} Played */

/** Play every seed; ends at the first that fails. @param {number[]} seeds @param {number} steps @returns {Promise<Played[]>} with `error`: what it broke, as a stack */
export async function play(seeds, steps) {
  const left = [...seeds];
  /** @type {Played[]} */
  const played = [];
  const many = Math.min(MOST_THREADS, availableParallelism(), seeds.length);
  await Promise.all(Array.from({ length: many }, () => thread(left, steps, played)));
  return played;
}

/** @param {number[]} left seeds that nobody took yet @param {number} steps @param {Played[]} played @returns {Promise<void>} */
function thread(left, steps, played) {
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL(import.meta.url), { workerData: { steps } });
    const next = () => worker.postMessage(left.shift() ?? null);
    worker.on('message', (/** @type {Played} */ one) => {
      played.push(one);
      if (one.error) left.length = 0;
      next();
    });
    worker.on('error', reject);
    worker.on('exit', resolve);
    next();
  });
}

/** One world from its beginning to its comparison. @param {number} seed @param {number} steps @param {RealPractice} practice @returns {Promise<Played>} */
async function world(seed, steps, practice) {
  const five = new Five(seed, practice);
  const before = practice.requests;
  try {
    await five.begin();
    for (let step = 0; step < steps; step += 1) await five.step();
    const rounds = await five.calm();
    assert.ok(rounds <= ROUNDS, `${rounds} rounds until nothing waited`);
    const entries = await five.compare(`seed ${seed}`);
    return { seed, did: five.did, entries, requests: practice.requests - before };
  } catch (error) {
    return { seed, did: five.did, entries: 0, requests: practice.requests - before, error: error.stack };
  }
}

if (!isMainThread && workerData?.steps) {
  const practice = new RealPractice();
  parentPort.on('message', async (seed) => {
    if (seed !== null) {
      parentPort.postMessage(await world(seed, workerData.steps, practice));
      return;
    }
    await practice.end();
    parentPort.close();
  });
}
