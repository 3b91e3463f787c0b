/** The loop's states with a clock of our own: when it sends, waits, is blocked, and what alone counts as sent. */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { ELSEWHERE_MS, QUIET_MS, SOON_MS, makeLoop } from '../../static/app/loop.js';
import { WireProblem, acknowledgement, request } from '../../static/app/wire.js';
import { fakeClock, settle } from './rig/clock.mjs';

const IDLE = { phase: 'idle', reason: '', code: '' };

/** @param {any} [more] */
function rig(more = {}) {
  const clock = fakeClock();
  const seen = { shown: [], rounds: 0, settled: 0 };
  const parts = {
    clock,
    lock: (round) => round(),
    round: async () => IDLE,
    show: (standing) => seen.shown.push(standing),
    settled: async () => {
      seen.settled += 1;
    },
    ...more,
  };
  const { round } = parts;
  parts.round = () => {
    seen.rounds += 1;
    return round();
  };
  return { clock, seen, loop: makeLoop(parts), phase: () => seen.shown.at(-1)?.phase, code: () => seen.shown.at(-1)?.code };
}

test('idle: a round, then a quiet minute, then the next', async () => {
  const { clock, seen, loop, phase } = rig();
  loop.now();
  await clock.pass(0);
  assert.deepEqual([seen.rounds, phase(), clock.due()], [1, 'idle', [QUIET_MS]]);
  await clock.pass(QUIET_MS);
  assert.equal(seen.rounds, 2);
});

test('what was just kept is sent soon, many at once in one round', async () => {
  const { clock, seen, loop } = rig();
  loop.now();
  await clock.pass(0);
  for (let entry = 0; entry < 5; entry += 1) {
    loop.nudge();
    await clock.pass(100);
  }
  assert.equal(seen.rounds, 1, 'typing puts it off a little');
  await clock.pass(SOON_MS);
  assert.equal(seen.rounds, 2);
});

test('an entry kept while a round is under way is followed by another round', async () => {
  let finish = () => undefined;
  const { clock, seen, loop } = rig({ round: () => new Promise((resolve) => { finish = () => resolve(IDLE); }) });
  loop.now();
  await clock.pass(0);
  loop.nudge();
  await clock.pass(10000);
  assert.equal(seen.rounds, 1, 'never two rounds at once');
  finish();
  await settle();
  assert.deepEqual(clock.due(), [SOON_MS]);
});

test('what a person asks for during a round follows at once, even when that round fails', async () => {
  let fail = () => undefined;
  const { clock, seen, loop } = rig({ round: () => new Promise((_, reject) => { fail = () => reject(new WireProblem('offline', 'out of reach')); }) });
  loop.now();
  await clock.pass(0);
  loop.now();
  await clock.pass(5000);
  assert.equal(seen.rounds, 1);
  fail();
  await settle();
  assert.deepEqual(clock.due(), [0]);
});

test('an entry kept while the round is being counted is not forgotten, and a failing count does not end the loop', async () => {
  let counted = () => undefined;
  const { clock, loop } = rig({ settled: () => new Promise((resolve) => { counted = resolve; }) });
  loop.now();
  await clock.pass(0);
  loop.nudge();
  counted();
  await settle();
  assert.deepEqual(clock.due(), [SOON_MS]);
  const broken = rig({ settled: async () => { throw new Error('storage'); } });
  broken.loop.now();
  await broken.clock.pass(0);
  assert.deepEqual([broken.phase(), broken.clock.due()], ['waiting', [QUIET_MS]]);
});

test('one flight: without the lock nothing is sent, and it looks again soon', async () => {
  const { clock, seen, loop } = rig({ lock: async () => null });
  loop.now();
  await clock.pass(0);
  assert.deepEqual([seen.rounds, seen.shown.length, clock.due()], [0, 0, [ELSEWHERE_MS]]);
});

test('two windows with one lock never send at the same time', async () => {
  let held = false;
  let inside = 0;
  let most = 0;
  const lock = async (round) => {
    if (held) return null;
    held = true;
    const answer = await round();
    held = false;
    return answer;
  };
  const round = async () => {
    inside += 1;
    most = Math.max(most, inside);
    await new Promise((resolve) => setImmediate(resolve));
    inside -= 1;
    return IDLE;
  };
  const windows = [rig({ lock, round }), rig({ lock, round })];
  for (let turn = 0; turn < 30; turn += 1) {
    for (const one of windows) one.loop.now();
    await Promise.all(windows.map((one) => one.clock.pass(turn * 7)));
  }
  await windows[1].clock.pass(ELSEWHERE_MS);
  assert.equal(most, 1);
  assert.ok(windows.every((one) => one.seen.rounds > 0));
});

test('back-off doubles from two seconds to five minutes, within the jitter', async () => {
  for (const dice of [0, 0.5, 0.999]) {
    const { clock, loop, phase } = rig({ round: async () => { throw new WireProblem('offline', 'out of reach'); } });
    clock.dice = dice;
    loop.now();
    await clock.pass(0);
    assert.equal(phase(), 'offline');
    for (let failures = 1; failures <= 12; failures += 1) {
      const full = Math.min(300000, 2000 * 2 ** (failures - 1));
      const [wait] = clock.due();
      assert.ok(wait >= full / 2 && wait <= full, `failure ${failures}: ${wait} of ${full}`);
      await clock.pass(wait);
    }
  }
});

test('during a pause new entries wait with it; a person or the network does not', async () => {
  let fail = true;
  const { clock, seen, loop, phase } = rig({ round: async () => { if (fail) throw new WireProblem('busy', 'busy'); return IDLE; } });
  loop.now();
  await clock.pass(0);
  const [wait] = clock.due();
  loop.nudge();
  assert.deepEqual(clock.due(), [wait], 'a nudge changes nothing');
  fail = false;
  loop.now();
  await clock.pass(0);
  assert.deepEqual([seen.rounds, phase(), clock.due()], [2, 'idle', [QUIET_MS]]);
});

test('Retry-After is a floor, never a shorter wait', async () => {
  for (const [asked, at] of [[90000, 90000], [10, null]]) {
    const { clock, loop } = rig({ round: async () => { throw new WireProblem('busy', 'wait', 'too_many', asked); } });
    loop.now();
    await clock.pass(0);
    const [wait] = clock.due();
    if (at) assert.equal(wait, at);
    else assert.ok(wait >= 1000 && wait <= 2000);
  }
});

test('blocked keeps its reason, goes on asking, and ends by itself', async () => {
  let open = false;
  const { clock, loop, phase, code } = rig({ round: async () => { if (!open) throw new WireProblem('refused', 'number 123456', 'to_approve'); return IDLE; } });
  loop.now();
  await clock.pass(0);
  assert.deepEqual([phase(), code()], ['blocked', 'to_approve']);
  open = true;
  await clock.pass(300000);
  assert.equal(phase(), 'idle');
});

test('a failure of the phone itself is told as such, and the loop lives on', async () => {
  let broken = true;
  const { clock, seen, loop, phase, code } = rig({ round: async () => { if (broken) throw new Error('storage'); return IDLE; } });
  loop.now();
  await clock.pass(0);
  assert.deepEqual([phase(), code(), seen.shown.at(-1).reason], ['waiting', 'phone', 'storage']);
  broken = false;
  await clock.pass(3000);
  assert.equal(phase(), 'idle');
});

/** What a server, or something in its place, may answer to a push; and the state that the loop is then in. */
const receipt = (ids, more = {}) => JSON.stringify({ protocol: 1, store_id: 's', device: 'd', through: 3, held: 3, results: ids.map((id) => ({ id, status: 'stored' })), ...more });
const error = (code) => JSON.stringify({ error: { code, message: `words of ${code}` } });
const ANSWERS = [
  ['the practice', 200, receipt(['a', 'b', 'c']), {}, ['idle', ['a', 'b', 'c'], '']],
  ['half a receipt', 200, receipt(['a', 'zz']), {}, ['idle', ['a'], '']],
  ['a receipt of another device', 200, receipt(['a', 'b', 'c'], { device: 'e' }), {}, ['waiting', [], 'strange']],
  ['a sign-in page', 200, '<html>please sign in', {}, ['waiting', [], 'strange']],
  ['a truncated receipt', 200, receipt(['a', 'b', 'c']).slice(0, -20), {}, ['waiting', [], 'strange']],
  ['an empty answer', 200, '', {}, ['waiting', [], 'strange']],
  ['JSON that is no receipt', 200, '{"ok":true}', {}, ['waiting', [], 'strange']],
  ['a redirect', 302, '', { Location: 'http://portal.example/' }, ['waiting', [], 'strange']],
  ['no content', 204, null, {}, ['waiting', [], 'strange']],
  ['401 of the practice', 401, error('unknown_phone'), {}, ['blocked', [], 'unknown_phone']],
  ['401 of a proxy', 401, '<html>', {}, ['waiting', [], 'strange']],
  ['403, to approve', 403, error('to_approve'), {}, ['blocked', [], 'to_approve']],
  ['403 of a proxy', 403, 'Forbidden', {}, ['waiting', [], 'strange']],
  ['404 of another server', 404, 'not found', {}, ['waiting', [], 'strange']],
  ['409', 409, error('conflict'), {}, ['blocked', [], 'not_taken']],
  ['413', 413, error('too_large'), {}, ['blocked', [], 'too_large']],
  ['422', 422, error('not_opened'), {}, ['blocked', [], 'not_taken']],
  ['429 with Retry-After', 429, error('too_many'), { 'Retry-After': '120' }, ['waiting', [], 'too_many', 120000]],
  ['500', 500, 'oops', {}, ['waiting', [], 'status_500']],
  ['503 with Retry-After', 503, error('busy'), { 'Retry-After': '2' }, ['waiting', [], 'busy', 1000]],
  ['507', 507, error('disk_full'), {}, ['waiting', [], 'disk_full']],
];

test('only a parsed acknowledgement counts, whatever else answers', async () => {
  const before = globalThis.fetch;
  try {
    for (const [name, status, text, headers, [phase, sent, code, wait = 0]] of ANSWERS) {
      const marked = [];
      const round = async () => {
        const answer = acknowledgement(await request('/api/journal', 't', {}), 'd', ['a', 'b', 'c']);
        marked.push(...answer.acknowledged);
        return IDLE;
      };
      globalThis.fetch = async () => new Response(text, { status, headers });
      const one = rig({ round });
      one.loop.now();
      await one.clock.pass(0);
      assert.deepEqual([one.phase(), marked, one.code()], [phase, sent, code], name);
      assert.ok(one.clock.due()[0] >= wait, name);
    }
  } finally {
    globalThis.fetch = before;
  }
});

test('an answer that breaks off and a redirect that a browser hides mark nothing', async () => {
  const before = globalThis.fetch;
  try {
    globalThis.fetch = async () => new Response(new ReadableStream({ start: (stream) => stream.error(new TypeError('network error')) }), { status: 200 });
    await assert.rejects(request('/api/journal', 't', {}), (problem) => problem instanceof WireProblem && problem.what === 'offline');
    globalThis.fetch = async () => ({ status: 0, type: 'opaqueredirect', headers: new Headers(), text: async () => '' });
    await assert.rejects(request('/api/journal', 't', {}), (problem) => problem instanceof WireProblem && problem.what === 'strange');
  } finally {
    globalThis.fetch = before;
  }
});
