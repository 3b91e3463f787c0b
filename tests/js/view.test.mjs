import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { lastAct, viewOf } from '../../static/app/exam-view.js';
import { effectiveness, heads } from '../../static/app/slots.js';
import { claim, due, nextBox, nextOpen, oftenNotVisible, progress, rows, together, usualClaim } from '../../static/app/order.js';

const tables = new URL('../../webapp/core/tables/', import.meta.url);
const catalogue = JSON.parse(readFileSync(new URL('catalogue.json', tables), 'utf8'));
const structure = (id) => catalogue.structures.find((one) => one.id === id);

/** Entries of one device, numbered in order; ids are short names. */
function journal(...acts) {
  return acts.map(([id, kind, body, more = {}], place) => ({
    v: 1, device: 'd', seq: place + 1, prev: '', exam: 'e', patient: 'p', author: 'VS', behalf: null,
    at: `2026-11-24T10:00:${String(place).padStart(2, '0')}+00:00`, kind, after: [], of: [], body_hash: '', id, body, ...more,
  }));
}

const opened = ['o', 'opened', { about: 'exam', date: '2026-11-24', visit: null, patient: { name: 'Otto', species: 'dog', sex: 'male', weight_kg: '34.2' }, question: { text: 'prostate?', structures: ['prostate'] } }];
const read = (id, about, value) => [id, 'read', { about, value, unit: 'mm', typed: value, typed_unit: 'mm' }];

test('a strike takes a reading out, a strike of the strike brings it back', () => {
  const entries = journal(opened, read('r1', 'aorta.diameter', '8.1'), ['s1', 'struck', { about: 'aorta.diameter', why: 'slip' }, { of: ['r1'] }], ['s2', 'struck', { about: 'aorta.diameter', why: 'undo' }, { of: ['s1'] }]);
  assert.equal(viewOf(entries.slice(0, 3)).readings[0].struck, true);
  assert.equal(viewOf(entries).readings[0].struck, false);
  assert.equal(effectiveness(entries)('s1'), false);
});

test('catalogue 21: a clock that jumps changes no order: entries of one phone stand as they were counted', () => {
  const at = ['2026-11-24T10:00:00+01:00', '2020-01-01T00:00:00+00:00', '2031-06-01T12:00:00-08:00', '2026-03-29T03:00:00+02:00'];
  const entries = journal(opened, read('r1', 'aorta.diameter', '8.1'), read('r2', 'aorta.diameter', '8.2'), read('r3', 'aorta.diameter', '8.3'))
    .map((entry, place) => ({ ...entry, at: at[place] }));
  assert.deepEqual(viewOf([entries[2], entries[0], entries[3], entries[1]]).readings.map((one) => one.value), ['8.1', '8.2', '8.3']);
});

test('a slot shows its head, and a struck head gives way to the one before', () => {
  const entries = journal(opened, ['a', 'seen', { about: 'liver', seen: 'whole', why: [], normal: true }], ['b', 'seen', { about: 'liver', seen: 'partly', why: ['gas'], normal: false }, { after: ['a'] }]);
  assert.equal(viewOf(entries).states.liver.seen, 'partly');
  assert.deepEqual(heads(entries, 'seen:liver').map((one) => one.id), ['b']);
  const undone = [...entries, ...journal(['u', 'struck', { about: 'liver', why: 'undo' }, { of: ['b'], seq: 9 }])];
  assert.equal(viewOf(undone).states.liver.normal, true);
  assert.equal(lastAct(undone, 'd').id, 'a');
});

test('the fold does not depend on the order of arrival', () => {
  const entries = journal(opened, read('r1', 'aorta.diameter', '8.1'), ['w', 'set', { about: 'patient.weight_kg', value: '33.0' }], ['n', 'noted', { about: 'exam', text: 'x' }]);
  assert.deepEqual(viewOf([...entries].reverse()), viewOf(entries));
  assert.equal(viewOf(entries).patient.weight_kg, '33.0');
});

test('which structures are asked for follows the animal and the question', () => {
  const view = viewOf(journal(opened));
  const ids = due(catalogue, view).map((one) => one.id);
  assert.ok(ids.includes('prostate') && !ids.includes('uterus') && !ids.includes('testis.left'));
  const spayed = { ...view, patient: { ...view.patient, sex: 'female', neutered: true }, question: { text: '', structures: [], answered: null } };
  const hers = due(catalogue, spayed).map((one) => one.id);
  assert.ok(!hers.includes('prostate') && !hers.includes('uterus') && !hers.includes('ovary.left'));
  assert.equal(progress(catalogue, view).done, 0);
  assert.equal(nextOpen(catalogue, view, 'liver'), 'gallbladder');
  assert.equal(oftenNotVisible(structure('bile_duct'), view), true);
});

test('adrenal parts are never folded, other parts are until asked for', () => {
  const view = viewOf(journal(opened));
  const gland = rows(catalogue, structure('adrenal.right'), view, { parts: false, more: false });
  assert.deepEqual(gland.map((row) => row.kind), ['measure', 'measure', 'part', 'part']);
  assert.equal(rows(catalogue, structure('liver'), view, { parts: false, more: false }).length, 0);
  assert.equal(rows(catalogue, structure('liver'), view, { parts: true, more: false }).length, 5);
  const hidden = viewOf(journal(opened, read('r1', 'adrenal.right.caudal_pole_thickness', '7.4'), ['c', 'seen', { about: 'adrenal.right.cranial_pole', seen: 'not_seen', why: ['gas'], normal: false }], read('r2', 'adrenal.right.caudal_pole_thickness', '7.1')));
  assert.equal(nextBox(gland, 'adrenal.right.caudal_pole_thickness', hidden), 'adrenal.right.caudal_pole_thickness', 'no box opens for a pole that was not seen');
  assert.deepEqual(claim(structure('adrenal.right'), hidden), { words: 'rest seen', seen: 'partly', normal: false, why: ['gas'] });
});

test('a pole that was called not seen gives the keys away', () => {
  const acts = [opened, ...['7.4', '7.1'].map((value, place) => read(`c${place}`, 'adrenal.right.caudal_pole_thickness', value)), ['n', 'seen', { about: 'adrenal.right.cranial_pole', seen: 'not_seen', why: ['gas'], normal: false }]];
  const view = viewOf(journal(...acts));
  const gland = rows(catalogue, structure('adrenal.right'), view, { parts: false, more: false });
  assert.equal(nextBox(gland, 'adrenal.right.cranial_pole_thickness', view), null);
});

test('in a mass whose poles are one no box waits for a pole, until more is asked for or one was read', () => {
  const mass = ['m', 'found', { about: 'adrenal.right', finding: 'mass', shape: 'mass, poles not separable' }];
  const gland = structure('adrenal.right');
  const measured = (view, more = false) => rows(catalogue, gland, view, { parts: false, more }).filter((row) => row.kind === 'measure').map((row) => row.id);
  assert.deepEqual(measured(viewOf(journal(opened, mass))), []);
  assert.ok(measured(viewOf(journal(opened, mass)), true).includes('adrenal.right.caudal_pole_thickness'));
  assert.deepEqual(measured(viewOf(journal(opened, mass, read('r', 'adrenal.right.caudal_pole_thickness', '7.4')))), ['adrenal.right.caudal_pole_thickness']);
  const struck = viewOf(journal(opened, mass, ['s', 'struck', { about: 'adrenal.right', why: 'slip' }, { of: ['m'] }]));
  assert.equal(measured(struck).length, 2);
});

test('one tap never calls a structure normal over a finding', () => {
  const view = viewOf(journal(opened, ['f', 'found', { about: 'liver', finding: 'nodule' }]));
  assert.equal(claim(structure('liver'), view).normal, false);
  assert.equal(claim(structure('spleen'), view).normal, true);
});

test('every structure and every measured quantity can be reached', () => {
  const view = { ...viewOf(journal(opened)), patient: { species: 'dog' } };
  const reached = new Set();
  for (const one of catalogue.structures) {
    for (const row of rows(catalogue, one, view, { parts: true, more: true })) if (row.quantity) reached.add(row.quantity.id);
  }
  const missing = catalogue.quantities.filter((one) => !reached.has(one.id) && !one.id.startsWith('lesion.') && (!one.derived || one.derived.rule === 'larger_pole'));
  assert.deepEqual(missing.map((one) => one.id), []);
});

test('one tap for one sweep is offered only while nothing is said of any of it, in its order, and never of what is asked', () => {
  const fresh = viewOf(journal(opened));
  const ids = (view, id, table = catalogue) => together(table, view, id).map((one) => one.id);
  assert.deepEqual(ids(fresh, 'free_fluid'), ['free_fluid', 'peritoneum', 'retroperitoneum']);
  assert.deepEqual(ids(fresh, 'liver'), []);
  assert.deepEqual(ids(fresh, 'peritoneum'), [], 'from its first on');
  const said = (id) => ({ ...fresh, states: { [id]: { seen: 'not_seen', why: ['gas'] } } });
  assert.deepEqual(ids(said('peritoneum'), 'free_fluid'), []);
  assert.deepEqual(ids(said('free_fluid.bladder_colon'), 'free_fluid'), [], 'a part counts too');
  const found = { ...fresh, findings: [{ structure: 'retroperitoneum', finding: 'mass', struck: false }] };
  assert.deepEqual(ids(found, 'free_fluid'), []);
  const asked = { ...fresh, question: { text: 'fluid?', structures: ['retroperitoneum'], answered: null } };
  assert.deepEqual(ids(asked, 'free_fluid'), []);
  const own = { ...catalogue, structures: [...catalogue.structures].sort((a, b) => (a.id === 'peritoneum' ? -1 : b.id === 'peritoneum' ? 1 : 0)) };
  assert.deepEqual(ids(fresh, 'free_fluid', own), [], 'in an own order that parts them');
});

test('what one sweep claims is what each structure by itself would', () => {
  const dog = viewOf(journal(opened));
  assert.equal(usualClaim(structure('bile_duct'), dog).seen, 'not_visible_expected');
  assert.deepEqual(usualClaim(structure('gallbladder'), dog), claim(structure('gallbladder'), dog));
  for (const group of catalogue.together) {
    for (const id of group) {
      assert.ok(structure(id), id);
      assert.ok(!catalogue.quantities.some((one) => one.structure === id && one.core), `${id} has a core reading: it is answered by itself`);
    }
  }
});

test('one reading is enough once a person says why, and no longer when that is taken back', () => {
  const left = structure('adrenal.left');
  const cranial = 'adrenal.left.cranial_pole_thickness';
  const caudal = 'adrenal.left.caudal_pole_thickness';
  const said = ['a', 'acknowledged', { about: caudal, flag: 'one_reading', reason: 'time' }, { of: ['r'] }];
  const shown = (view) => nextBox(rows(catalogue, left, view, { parts: false, more: false }), caudal, view);
  const once = journal(opened, read('r', caudal, '4.2'));
  assert.equal(shown(viewOf(once)), caudal);
  const enough = journal(opened, read('r', caudal, '4.2'), said);
  assert.equal(shown(viewOf(enough)), cranial);
  const back = journal(opened, read('r', caudal, '4.2'), said, ['s', 'struck', { about: caudal, why: 'undo' }, { of: ['a'] }]);
  assert.equal(shown(viewOf(back)), caudal);
  const none = journal(opened, read('r', caudal, '4.2'), said, ['s', 'struck', { about: caudal, why: 'slip' }, { of: ['r'] }]);
  assert.equal(shown(viewOf(none)), caudal, 'of a struck reading nothing is enough');
});

test('what the desk asks is no note, is open until an answer names it, in whatever order they came', () => {
  const question = ['q', 'noted', { about: 'prostate', text: 'Seen whole?', asks: 'sonographer' }, { author: 'RD' }];
  const answer = ['a', 'noted', { about: 'prostate', text: 'Yes.', answers: 'q' }, { of: ['q'] }];
  const asked = viewOf(journal(opened, question));
  assert.deepEqual(asked.notes, []);
  assert.deepEqual(asked.asked.map((one) => [one.id, one.author, one.open]), [['q', 'RD', true]]);
  for (const acts of [[question, answer], [answer, question]]) {
    const view = viewOf(journal(opened, ...acts));
    assert.deepEqual(view.asked.map((one) => [one.text, one.open, one.answers.map((row) => row.text)]), [['Seen whole?', false, ['Yes.']]]);
  }
  const withdrawn = viewOf(journal(opened, question, ['s', 'struck', { about: 'prostate', why: 'withdrawn' }, { of: ['q'] }]));
  assert.deepEqual(withdrawn.asked, []);
});
