import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { test } from 'node:test';
import { NOTHING_BEFORE, canonical, localTime, newDeviceId, open, seal, sha256, uuid7 } from '../../static/app/entry.js';

const draft = {
  exam: '0193', patient: null, author: 'VS', behalf: null, kind: 'noted', after: [], of: [],
  body: { about: 'liver', text: 'Größe "gut" \u0001 \ud83d\ude00 \\ /' },
};

test('canonical text: sorted keys, no spaces, text as it is', () => {
  assert.equal(canonical({ b: 1, a: [true, null, 'é'], Z: {} }), '{"Z":{},"a":[true,null,"é"],"b":1}');
  assert.equal(canonical('a\ud800b'), '"a\ufffdb"');
  assert.equal(canonical('\udc00\ud83d\ude00'), '"\ufffd\ud83d\ude00"');
  assert.throws(() => canonical(1.5), TypeError);
  assert.throws(() => canonical(2 ** 31), TypeError);
  assert.throws(() => canonical({ ä: 1 }), TypeError);
});

test('the same bytes as the server makes', () => {
  const values = [draft.body, { list: ['6,2', '', 'Ωμέγα', '\u2028', '\u007f'], deep: { a: { b: -5 } }, no: false }, [], 'tab\tline\n'];
  const script = 'import json,sys\nfor x in json.load(sys.stdin): print(json.dumps(json.dumps(x, sort_keys=True, separators=(",", ":"), ensure_ascii=False)))';
  const python = execFileSync('python3', ['-c', script], { input: JSON.stringify(values), encoding: 'utf8' });
  const theirs = python.trim().split('\n').map((line) => JSON.parse(line));
  assert.deepEqual(values.map(canonical), theirs);
});

test('sealing chains entries, and opening finds a changed body', async () => {
  const device = newDeviceId();
  const first = await seal(draft, { device, seq: 0, prev: NOTHING_BEFORE }, '2026-11-24T10:41:03+01:00');
  const second = await seal(draft, { device, seq: first.entry.seq, prev: first.entry.id }, '2026-11-24T10:41:04+01:00');
  assert.equal(first.entry.id, await sha256(first.envelope.header));
  assert.equal(second.entry.prev, first.entry.id);
  assert.equal(second.entry.seq, 2);
  const sound = await open(first.envelope);
  assert.equal(sound.damaged, false);
  assert.deepEqual(sound.entry, first.entry);
  const changed = await open({ header: first.envelope.header, body: first.envelope.body.replace('gut', 'gross') });
  assert.equal(changed.damaged, true);
  assert.deepEqual(Object.keys(JSON.parse(first.envelope.header)), [
    'after', 'at', 'author', 'behalf', 'body_hash', 'device', 'exam', 'kind', 'of', 'patient', 'prev', 'seq', 'v',
  ]);
});

test('ids and times', () => {
  const id = uuid7(Date.UTC(2026, 10, 24));
  assert.match(id, /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.ok(uuid7(1000) < uuid7(2000));
  assert.match(newDeviceId(), /^[0-9a-f]{32}$/);
  assert.match(localTime(new Date()), /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d$/);
});
