/**
 * A month by hand: 22 days of 10 exams, two phones and a desk, the practice's own server over a socket, a line that loses
 * and repeats, a phone that dies, a copy each night, a server that dies once. The practice's day goes on with the phones',
 * so that what is acknowledged leaves them after KEEP_DAYS. Phone A's window stays open all month: what its modules pile
 * up would show. Prints what it costs as it goes; fails when an entry is missing, doubled or changed on any side, or when
 * something still waits at the end.
 *
 *     .venv/bin/node --expose-gc tests/bench/month.mjs [seed]      # GELSIDE_DAYS=n, GELSIDE_KEEP_DAYS=n
 */
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { Five } from '../js/rig/five.mjs';
import { allRows, note } from '../js/rig/notes.mjs';
import { MORNING } from '../js/rig/phone.mjs';
import { RealPractice } from '../js/rig/real.mjs';

const DAYS = Number(process.env.GELSIDE_DAYS || 22);
/** Few, so that the second half of the month is a steady state. A practice keeps 30 unless it says otherwise. */
const KEEP_DAYS = Number(process.env.GELSIDE_KEEP_DAYS || 7);
const EXAMS_A_DAY = 10;
const ENTRIES = 40;
const AT_ONCE = 8;
/** None comes twice: one that comes again brings its earlier exams back to both phones. */
const ANIMALS = DAYS * EXAMS_A_DAY;
const MB = 2 ** 20;
const seed = Number(process.argv[2] || 1);

const practice = new RealPractice();
const began = Date.now();
try {
  const five = new Five(seed, practice);
  await five.begin();
  for (let number = 0; number < DAYS; number += 1) {
    await day(five, number);
    if (number === Math.floor(DAYS / 2)) {
      await five.serverDies();
      await five.serverStarts();
    }
    await told(five, number);
  }
  const open = heap();
  for (const actor of five.actors) {
    for (const life of actor.windows) life.kill();
    actor.windows = [];
  }
  await new Promise((resolve) => setImmediate(resolve));
  console.log(`the modules of the open windows held ${(open - heap()).toFixed(1)} MB of that`);
  const rounds = await five.calm();
  const held = await accountedFor(five);
  console.log(`all sent after ${rounds} rounds; ${held.length} entries at the practice, ${size(held)} MB of text, every one accounted for; ${practice.requests} requests in ${seconds()} s`);
} finally {
  await practice.end();
}

/** The animals of a day. @param {number} number */
function animals(number) {
  return Array.from({ length: EXAMS_A_DAY }, (_, place) => `animal-${(number * EXAMS_A_DAY + place) % ANIMALS}`);
}

async function day(five, number) {
  const { ids, day: date } = await practice.do('morning', { days: number, patients: animals(number), keep_days: KEEP_DAYS });
  for (const id of ids) five.desk.add(id);
  for (const actor of five.actors) {
    actor.chance = five.pick([0, 0.1, 0.3]);
    actor.cut = five.random() < 0.2;
    await five.openWindow(actor);
    for (const life of actor.windows) life.wrongBy = Date.parse(`${date}T08:00:00Z`) - MORNING - life.clock.now;
  }
  for (let place = 0; place < EXAMS_A_DAY; place += 1) {
    const actor = five.actors[place % five.actors.length];
    const drafts = exam(number, place, date);
    for (let from = 0; from < drafts.length; from += AT_ONCE) {
      await keep(five, actor, drafts.slice(from, from + AT_ONCE));
      await five.pass(actor, 4 * 60000);
      if (actor !== five.actors[0] && five.random() < 0.05) await five.die(actor);
      actor.windows = actor.windows.filter((one) => one.alive);
    }
    if (place % 3 === 0) {
      five.open = [{ id: drafts[0].exam, patient: drafts[0].patient, many: 0 }];
      await five.deskNotes();
    }
  }
  await five.approve();
  await five.backup();
}

/** The entries of one exam, as a table gives them. @param {number} day @param {number} place @param {string} date */
function exam(day, place, date) {
  const about = { exam: `exam-${day}-${place}`, patient: animals(day)[place] };
  const opened = { about: 'exam', date, visit: null, patient: { name: about.patient, species: 'dog', weight_kg: '8.4' }, question: { text: '', structures: [] }, context: {} };
  const read = (number) => ({ about: 'adrenal.left.caudal_pole_thickness', value: `${4 + (number % 30) / 10}`, unit: 'mm', typed: `${4 + (number % 30) / 10}`, typed_unit: 'mm' });
  return Array.from({ length: ENTRIES }, (_, number) => {
    const draft = { ...note(number), ...about };
    if (number === 0) return { ...draft, kind: 'opened', body: opened };
    if (number === ENTRIES - 1) return { ...draft, kind: 'closed', body: { about: 'exam' } };
    return number % 8 === 1 ? { ...draft, kind: 'read', body: read(number) } : { ...draft, body: { about: 'liver', text: 'Margins smooth, texture even.' } };
  });
}

/** Keep these on a phone that may have died, and note what it said it kept. @param {Five} five @param {any} actor @param {any[]} drafts */
async function keep(five, actor, drafts) {
  if (!actor.windows.length) await five.openWindow(actor);
  const life = actor.windows.at(-1);
  const entries = await life.app.append(drafts);
  for (const { id } of entries) actor.ids.add(id);
  life.app.nudge();
}

/** One line: what waits, and what it takes here, on the phones and at the server. @param {Five} five @param {number} number */
async function told(five, number) {
  const disks = await Promise.all(five.actors.map((actor) => allRows(actor.phone.disk)));
  const on = disks.map(({ entries }, place) => `${five.actors[place].name} ${entries.length} rows, ${size(entries)} MB`);
  const waiting = disks.reduce((sum, { waiting: list }) => sum + list.length, 0);
  console.log(`day ${number + 1}: ${waiting} wait; ${on.join('; ')}; modules and disks of both, after collecting, ${heap().toFixed(1)} MB; server ${memory(practice.pid).toFixed(0)} MB; ${seconds()} s`);
}

/** @param {any[]} rows MB of text */
function size(rows) {
  return (rows.reduce((sum, row) => sum + JSON.stringify(row).length, 0) / MB).toFixed(1);
}

/** What lives in this process, MB. Needs --expose-gc to be told without what is only not collected yet. */
function heap() {
  globalThis.gc?.();
  return process.memoryUsage().heapUsed / MB;
}

/** What the server's process holds in memory, MB. @param {number} pid */
function memory(pid) {
  return Number(readFileSync(`/proc/${pid}/status`, 'utf8').match(/VmRSS:\s+(\d+)/)[1]) / 1024;
}

function seconds() {
  return ((Date.now() - began) / 1000).toFixed(0);
}

/**
 * Everything that anybody was told is kept is at the practice, once and sound, and nothing else; what lies on a phone is
 * the same to the byte, and what has left it is at the practice. @param {Five} five @returns {Promise<any[]>} the practice's rows
 */
async function accountedFor(five) {
  await practice.kill();
  await practice.start();
  await practice.request('/review', {});
  const { rows, grave, unlike, behind } = await practice.do('held');
  assert.deepEqual([grave, unlike, behind], [[], [], []]);
  const held = new Map(rows.map((row) => [row.id, row]));
  assert.equal(held.size, rows.length, 'each once');
  const written = new Set([...five.desk, ...five.actors.flatMap((actor) => [...actor.ids])]);
  assert.deepEqual([...written].filter((id) => !held.has(id)), [], 'everything that was kept');
  assert.deepEqual([...held.keys()].filter((id) => !written.has(id)), [], 'nothing that nobody wrote');
  assert.deepEqual(rows.filter((row) => row.why && row.why !== 'kind'), [], 'unread is only a kind that no version knows');
  for (const actor of five.actors) {
    const { entries, waiting, meta } = await allRows(actor.phone.disk);
    assert.equal(waiting.length, 0, `${actor.name} has nothing left to send`);
    for (const { id, header, body } of entries) assert.deepEqual({ header, body }, { header: held.get(id)?.header, body: held.get(id)?.body }, `${actor.name}: byte for byte`);
    const left = (meta.get('left') || []).reduce((sum, line) => sum + line.entries, 0);
    console.log(`${actor.name}: wrote ${actor.ids.size}; ${left} entries of all left it after ${KEEP_DAYS} days; receipt ${meta.get('receipt').held}`);
    assert.equal(meta.get('receipt').held, actor.ids.size, `${actor.name}: the receipt names all it wrote`);
  }
  return rows;
}
