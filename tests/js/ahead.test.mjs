/** The list of the day comes before the exams of the past, and is told of as soon as it is here. */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { note, rowsOf, started, written } from './rig/notes.mjs';
import { Phone } from './rig/phone.mjs';
import { Practice, network } from './rig/practice.mjs';

const MANY = 450;
/** Every answer takes so long, and one that is not whole within 20 s is given up. */
const PACE_MS = 300;

/** A practice that holds exams of the past and, last of all, what is planned. */
async function withList() {
  const phone = new Phone();
  const practice = new Practice();
  const ids = await written(phone, MANY);
  const life = await started(phone, network(practice));
  const planned = await life.app.append([{ ...note(0), exam: null, kind: 'planned', body: { date: '2026-11-24' } }]);
  life.app.nudge();
  await life.pass(60000);
  life.kill();
  assert.equal(practice.entries.size, MANY + 1);
  return { practice, last: planned[0].id, ids };
}

/** Pages as the practice gives them, the list before them where it is asked for. @param {any} practice @param {string} last @param {string[]} asked */
function ahead(practice, last, asked) {
  return async (path, options) => {
    const answer = await network(practice).go(path, options);
    if (!path.startsWith('/api/journal?')) return answer;
    asked.push(path);
    await options.wait(PACE_MS);
    const page = await answer.json();
    const wanted = new URL(path, 'http://x').searchParams.get('ahead') === '1';
    const { header, body } = practice.entries.get(last);
    return new Response(JSON.stringify(wanted && page.more ? { ...page, ahead: [{ header, body }] } : page));
  };
}

test('the list comes with the first page and is shown then, not behind the exams of the past', async () => {
  const { practice, last } = await withList();
  const asked = [];
  const told = [];
  const life = new Phone().start(ahead(practice, last, asked));
  await life.app.setMeta('token', 't');
  life.app.startSync((fresh) => told.push(fresh.map(({ id }) => id)));
  await life.pass(60000);
  assert.equal(asked.length, 3);
  assert.deepEqual(asked.map((path) => path.includes('ahead=1')), [true, false, false], 'once, with the first page');
  assert.ok(told[0].includes(last), 'told of with the first page');
  assert.ok(told.length > 1 && told[0].length < MANY, 'and not held back until the last');
  const rows = await rowsOf(life);
  assert.deepEqual([rows.length, told.flat().length], [MANY + 1, MANY + 1], 'what comes twice is kept once and told once');
});

test('a first page that did not come in time is asked for again without anything before it', async () => {
  const { practice, last } = await withList();
  const asked = [];
  const life = new Phone().start(async (path, options) => {
    if (path.includes('ahead=1')) await options.wait(60000);
    return ahead(practice, last, asked)(path, options);
  });
  await life.app.setMeta('token', 't');
  life.app.startSync(() => undefined);
  await life.pass(10 * 60000);
  assert.equal((await rowsOf(life)).length, MANY + 1, 'a slow line gets all of it');
  assert.ok(asked.length > 3);
});
