/** The screen's small fold and the core's fold (MicroPython, as on the phone) see the same exam. */
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { viewOf } from '../../static/app/exam-view.js';
import { heads } from '../../static/app/slots.js';
import { judgementOf, merge } from '../../static/app/merge.js';
import { openCore } from '../core_parity/core.mjs';
import { dice } from './rig/clock.mjs';

const root = new URL('../../', import.meta.url);
const core = new URL('webapp/core/', root);

/** One for all tests: the next exam is opened in it. @type {Promise<(request: any) => any> | undefined} */
let only;
const engine = () => (only ??= make());

async function make() {
  const read = (/** @type {string} */ folder, /** @type {string} */ ending) => Object.fromEntries(
    readdirSync(fileURLToPath(new URL(folder, core))).filter((name) => name.endsWith(ending))
      .map((name) => [ending === '.py' ? name : name.slice(0, -ending.length), readFileSync(new URL(folder + name, core), 'utf8')]),
  );
  const runtime = fileURLToPath(new URL('sw/node_modules/@micropython/micropython-webassembly-pyscript/micropython.mjs', root));
  const call = (await openCore({ runtime, files: read('./', '.py'), tables: read('tables/', '.json') }))('call');
  return (request) => JSON.parse(call(JSON.stringify(request)));
}

/** A random exam of one phone: readings, states, fields, findings, notes, strikes and strikes of strikes. */
function randomExam(random, length) {
  const pick = (list) => list[Math.floor(random() * list.length)];
  const entries = [];
  const add = (kind, body, more = {}) => {
    const seq = entries.length + 1;
    const minute = String(Math.floor(seq / 60)).padStart(2, '0');
    entries.push({
      v: 1, device: 'd'.repeat(32), seq, prev: '0'.repeat(64), exam: 'e1', patient: 'p1', author: 'VS', behalf: null,
      at: `2026-11-24T10:${minute}:${String(seq % 60).padStart(2, '0')}+00:00`, kind, after: [], of: [], body_hash: '', id: seq.toString(16).padStart(64, '0'), body, ...more,
    });
  };
  add('opened', { about: 'exam', date: '2026-11-24', visit: null, patient: { name: 'Otto', species: 'dog', sex: 'male', neutered: false, weight_kg: '34.2' }, question: { text: 'x', structures: ['adrenal.left'] }, context: {} });
  const set = (kind, slot, body) => add(kind, body, { after: heads(entries, slot).map((one) => one.id) });
  const moveTo = (id, seen) => add('set', { about: 'exam.patient', value: { id, name: `animal ${id}`, species: 'dog', weight_kg: '20.5' }, from: { id: 'p1' }, why: 'swapped' }, {
    after: seen ? ['exam.patient', 'patient.weight_kg'].flatMap((slot) => heads(entries, slot).map((one) => one.id)) : [], patient: id,
  });
  while (entries.length < length) {
    const what = random();
    const about = pick(['liver', 'spleen', 'adrenal.left.cranial_pole', 'kidney.left']);
    if (what < 0.4) {
      const value = `${1 + Math.floor(random() * 60)}.${Math.floor(random() * 10)}`;
      add('read', { about: pick(['aorta.diameter', 'kidney.left.length', 'adrenal.left.caudal_pole_thickness']), value, unit: 'mm', typed: value, typed_unit: 'mm', plane: 'long_axis' });
    } else if (what < 0.6) set('seen', `seen:${about}`, { about, seen: pick(['whole', 'partly', 'not_seen']), why: random() < 0.5 ? ['gas'] : [], normal: false });
    else if (what < 0.7) {
      const field = pick(['patient.weight_kg', 'context.fluids', 'adrenal.left.capsule']);
      set('set', field, { about: field, value: field === 'patient.weight_kg' ? pick(['33.0', '35.1']) : field.startsWith('context') ? pick(['none', 'running']) : [pick(['smooth', 'stretched'])] });
    } else if (what < 0.76) add('found', { about: 'liver', finding: pick(['nodule', 'mass']), dimensions: ['11.2'], unit: 'mm' });
    else if (what < 0.8) add('noted', { about: 'exam', text: 'a note' });
    else if (what < 0.84) moveTo(pick(['p1', 'p2', 'p3']), random() < 0.8);
    else {
      const target = pick(entries.slice(1));
      if (target) add('struck', { about: String(target.body.about), why: 'slip' }, { of: [target.id] });
    }
  }
  return entries;
}

test('both folds show the same readings, states, fields and findings', async () => {
  const call = await engine();
  for (const seed of [1, 2, 3, 4, 5, 6, 7, 8, 9, 10]) {
    const entries = randomExam(dice(seed), 80);
    const answer = call({ do: 'open', entries, earlier: [], today: '2026-11-24' });
    assert.equal(answer.error, undefined, `seed ${seed}: ${JSON.stringify(answer.error)}`);
    const theirs = answer.exam;
    const ours = viewOf(entries);
    const by = (list, keys) => list.map((one) => keys.map((key) => one[key] ?? null)).sort();
    assert.deepEqual(by(ours.readings, ['id', 'quantity', 'value', 'struck']), by(theirs.readings, ['id', 'quantity', 'value', 'struck']), `seed ${seed}`);
    assert.deepEqual(by(Object.values(ours.states), ['about', 'seen', 'why', 'normal']), by(theirs.states, ['about', 'seen', 'why', 'normal']), `seed ${seed}`);
    assert.deepEqual(by(ours.findings, ['id', 'structure', 'finding', 'struck']), by(theirs.findings, ['id', 'structure', 'finding', 'struck']), `seed ${seed}`);
    assert.deepEqual(by(ours.notes, ['id', 'about', 'struck']), by(theirs.notes, ['id', 'about', 'struck']), `seed ${seed}`);
    // Where two weights stand side by side the core shows none and a fork, the screen one of them and the core's fork.
    if (!theirs.forks.some((fork) => fork.slot === 'patient.weight_kg')) assert.equal(ours.patient.weight_kg, theirs.patient.weight_kg, `seed ${seed}`);
    assert.equal(ours.patientId, theirs.patient_id, `seed ${seed}`);
    assert.equal(ours.patient.name, theirs.patient.name, `seed ${seed}`);
    assert.deepEqual(by(ours.moved, ['id', 'from', 'to', 'struck']), by(theirs.moved, ['id', 'from', 'to', 'struck']), `seed ${seed}`);
    assert.deepEqual(ours.context.fluids ?? null, theirs.context.fluids ?? null, `seed ${seed}`);
    assert.deepEqual(ours.fields['adrenal.left.capsule'] ?? null, theirs.fields['adrenal.left.capsule'] ?? null, `seed ${seed}`);
  }
});

test('entries applied one by one and merged give the judgement of the whole', async () => {
  const call = await engine();
  const sorted = (list) => list.map((one) => JSON.stringify(one, Object.keys(one).sort())).sort();
  for (const seed of [11, 12]) {
    const entries = randomExam(dice(seed), 60);
    let whole = merge(null, call({ do: 'open', as: 'units', entries: entries.slice(0, 5), earlier: [], today: '2026-11-24' }));
    for (const entry of entries.slice(5)) whole = merge(whole, call({ do: 'apply', as: 'units', entries: [entry] }));
    const expected = call({ do: 'open', entries, earlier: [], today: '2026-11-24' });
    const judgement = judgementOf(whole);
    for (const list of ['flags', 'judged', 'silent', 'open', 'values']) {
      assert.deepEqual(sorted(judgement[list]), sorted(expected.judgement[list]), `${list}, seed ${seed}`);
    }
    assert.deepEqual(whole.exam.readings, expected.exam.readings, `seed ${seed}`);
  }
});
