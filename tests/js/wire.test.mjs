import assert from 'node:assert/strict';
import { test } from 'node:test';
import { WireProblem, acknowledgement, batch, page, pause, request } from '../../static/app/wire.js';

const sound = {
  protocol: 1, store_id: 's1', device: 'd1', through: 2, held: 2,
  results: [{ id: 'a', status: 'stored' }, { id: 'b', status: 'duplicate' }, { id: 'zz', status: 'stored' }, { id: 'c', status: 'perhaps' }],
};

test('only ids that were sent and have a known status are acknowledged', () => {
  assert.deepEqual(acknowledgement(sound, 'd1', ['a', 'b', 'c']).acknowledged, ['a', 'b']);
});

test('catalogue 59: an answer of another protocol, or no receipt at all, acknowledges nothing', () => {
  const broken = [null, {}, { ...sound, protocol: 2 }, { ...sound, device: 'other' }, { ...sound, through: '2' }, { ...sound, results: 'all' }, { ...sound, store_id: null }];
  for (const answer of broken) assert.throws(() => acknowledgement(answer, 'd1', ['a']), WireProblem);
  assert.throws(() => page({ protocol: 1, entries: [{}] }), WireProblem);
});

test('batches stay within 1000 entries and 512 kB, and a large entry still goes', () => {
  const small = Array.from({ length: 1450 }, (_, seq) => ({ id: String(seq), header: 'h'.repeat(200), body: 'b'.repeat(100) }));
  assert.equal(batch(small).length, 1000);
  const large = Array.from({ length: 20 }, (_, seq) => ({ id: String(seq), header: 'h', body: 'é'.repeat(40000) }));
  const taken = batch(large);
  assert.ok(taken.length > 1 && taken.length < 8);
  assert.ok(new TextEncoder().encode(JSON.stringify(taken.map(({ header, body }) => ({ header, body })))).length < 512 * 1024);
  assert.equal(batch([{ id: 'x', header: 'h', body: 'b'.repeat(600000) }]).length, 1);
});

test('the pause grows from seconds to five minutes, with jitter', () => {
  assert.equal(pause(1, 1), 2000);
  assert.equal(pause(1, 0), 1000);
  assert.equal(pause(3, 1), 8000);
  assert.equal(pause(50, 1), 300000);
});

test('what a server may answer, and what the phone makes of it', async () => {
  const answers = [
    [200, 'text/html', '<html>please sign in to the Wi-Fi</html>', 'strange'],
    [200, 'application/json', '{"protocol":1', 'strange'],
    [401, 'application/json', '{"error":{}}', 'refused'],
    [302, 'text/html', '', 'strange'],
    [403, 'text/plain', '', 'strange'],
    [413, 'application/json', '{"error":{"code":"too_large","message":"x"}}', 'too_large'],
    [500, 'text/html', 'oops', 'busy'],
    [503, 'application/json', '{}', 'busy'],
  ];
  const before = globalThis.fetch;
  try {
    for (const [status, type, text, what] of answers) {
      globalThis.fetch = async () => new Response(text, { status, headers: { 'Content-Type': type } });
      await assert.rejects(request('/api/journal', 't', {}), (error) => error instanceof WireProblem && error.what === what);
    }
    globalThis.fetch = async () => {
      throw new TypeError('Failed to fetch');
    };
    await assert.rejects(request('/api/journal', 't', {}), (error) => error instanceof WireProblem && error.what === 'offline');
  } finally {
    globalThis.fetch = before;
  }
});
