/** A phone that dies while it sends: nothing is lost, nothing comes twice, and the next start brings the rest. */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { dice } from './rig/clock.mjs';
import { allArrivedOnce, started, written } from './rig/notes.mjs';
import { Phone } from './rig/phone.mjs';
import { Practice, network } from './rig/practice.mjs';

/** Steps that one undisturbed start takes until all is sent. @param {number} many */
async function stepsOf(many) {
  const phone = new Phone();
  const practice = new Practice();
  const ids = await written(phone, many);
  const life = await started(phone, network(practice));
  const { steps } = life;
  await allArrivedOnce(life, practice, ids, 'undisturbed');
  return steps;
}

/** Start, die at each of these steps in turn, start once more. @param {number} many @param {number[]} deaths @param {string} words */
async function killedAt(many, deaths, words) {
  const phone = new Phone();
  const practice = new Practice();
  const way = network(practice);
  const ids = await written(phone, many);
  const at = [];
  for (const dieAt of deaths) {
    const life = await started(phone, way, { dieAt });
    await life.pass(0);
    life.kill();
    at.push(`${life.steps} ${life.lastStep}`);
  }
  const life = await started(phone, way);
  await allArrivedOnce(life, practice, ids, `${words}, killed at ${at.join(' and ')}`);
  assert.equal(phone.most, 1, words);
}

test('catalogue 35: a phone killed at any single step of a push loses nothing and sends nothing twice', async () => {
  const steps = await stepsOf(3);
  assert.ok(steps > 40, `${steps} steps`);
  for (let dieAt = 1; dieAt <= steps; dieAt += 1) await killedAt(3, [dieAt], `3 entries`);
});

test('catalogue 35: killed twice at 20 random points of a push of several batches, the third start converges', async (context) => {
  const steps = await stepsOf(450);
  const base = Number(process.env.GELSIDE_SEED || 20261125);
  context.diagnostic(`seed ${base}, ${steps} steps`);
  for (let turn = 0; turn < 20; turn += 1) {
    const random = dice(base + turn);
    const deaths = [1 + Math.floor(random() * steps), 1 + Math.floor(random() * steps)];
    await killedAt(450, deaths, `seed ${base} turn ${turn}`);
  }
});

/** All is sent; the practice goes back to the first entries; one more is written; the phone dies at this step. @param {number} dieAt @param {boolean} told @returns {Promise<number>} steps it lived */
async function killedAfterTheyWentBack(dieAt, told) {
  const words = `${told ? 'restored' : 'file put back by hand'}, killed at ${dieAt}`;
  const phone = new Phone();
  const practice = new Practice();
  const way = network(practice);
  const ids = await written(phone, 2);
  const early = await started(phone, way);
  const copy = practice.copy();
  ids.push(...(await written(phone, 3)));
  early.app.sendNow();
  await early.pass(0);
  early.kill();
  practice.restore(copy, told);
  ids.push(...(await written(phone, 1)));
  const life = await started(phone, way, { dieAt });
  life.kill();
  ids.push(...(await written(phone, 1)));
  const last = await started(phone, way);
  await last.pass(1000);
  await allArrivedOnce(last, practice, ids, words);
  return life.steps;
}

test('catalogue 42: a practice that went back gets again what it lacks, whenever the phone dies over it', async () => {
  for (const told of [true, false]) {
    for (let dieAt = 1; ; dieAt += 1) {
      const lived = await killedAfterTheyWentBack(dieAt, told);
      if (lived < dieAt) break;
    }
  }
});
