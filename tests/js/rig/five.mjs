/**
 * Five actors by chance: two phones, a copy of one, the desk and the practice's own server. Phones run the app's own
 * modules; requests go over a socket to the real application, which dies, goes back to a copy and changes its version.
 */
import assert from 'node:assert/strict';
import { dice } from './clock.mjs';
import { allRows, copied, note } from './notes.mjs';
import { Phone } from './phone.mjs';
import { MISHAPS } from './real.mjs';

export const PATIENTS = Array.from({ length: 24 }, (_, place) => `patient-${place + 1}`);
/** Kinds that the version which starts does not know. */
const OLDER = [[], [], ['attached']];
const LONGEST_EXAM = 16;
const MOST_OPEN = 4;
const MOST_WINDOWS = 2;
/** The longest wait that the loop ever takes, and requests that hang. */
const SOON_MS = 20 * 60000;
export const ROUNDS = 20;

/** One phone with its windows, its line and what it was told is kept. */
class Actor {
  /** @param {string} name @param {string} token @param {Phone} phone */
  constructor(name, token, phone) {
    Object.assign(this, { name, token, phone, cut: false, chance: 0, pushes: 0 });
    /** @type {any[]} */
    this.windows = [];
    /** @type {Set<string>} */
    this.ids = new Set();
  }
}

export class Five {
  /** @param {number} seed @param {import('./real.mjs').RealPractice} practice each begins with a new file */
  constructor(seed, practice) {
    this.random = dice(seed);
    this.luck = dice(seed + 1e6);
    this.practice = practice;
    /** @type {Actor[]} */
    this.actors = [];
    this.desk = new Set();
    this.lost = new Set();
    this.copies = 0;
    this.exams = 0;
    /** @type {{id: string, patient: string, many: number}[]} */
    this.open = [];
    this.did = {};
    this.acts = {
      write: 45, pass: 16, tap: 1.5, passLong: 0.8, weather: 3, openWindow: 1.5, die: 2, dieSoon: 1.2, online: 1, setClock: 1, cut: 2, deskNotes: 3,
      serverDies: 0.25, dieInPush: 0.25, serverStarts: 1, backup: 0.3, restore: 0.12, approve: 1, copyPhone: 0.5,
    };
  }

  pick(list) {
    return list[Math.floor(this.random() * list.length)];
  }

  below(most) {
    return Math.floor(this.random() * most);
  }

  async begin() {
    const tokens = ['token-a', 'token-b'];
    this.practice.pid = 0;
    for (const id of (await this.practice.do('pair', { tokens, patients: PATIENTS })).ids) this.desk.add(id);
    for (const [place, token] of tokens.entries()) await this.join(new Actor(`phone ${'AB'[place]}`, token, new Phone()));
    await this.practice.start();
  }

  /** @param {Actor} actor */
  async join(actor) {
    const life = actor.phone.start(async () => { throw new TypeError('no network'); });
    if (!(await life.app.getMeta('token'))) await life.app.setMeta('token', actor.token);
    life.kill();
    this.actors.push(actor);
  }

  async step() {
    let at = this.random() * Object.values(this.acts).reduce((sum, one) => sum + one, 0);
    const [name] = Object.entries(this.acts).find(([, weight]) => (at -= weight) < 0);
    this.did[name] = (this.did[name] || 0) + 1;
    await this[name](this.pick(this.actors));
    for (const actor of this.actors) {
      actor.windows = actor.windows.filter((one) => one.alive);
      assert.ok(actor.phone.most <= 1, `${actor.name}: one flight`);
    }
  }

  /** The line of one phone. @param {Actor} actor */
  line(actor) {
    return async (path, options) => {
      if (options.method === 'POST') actor.pushes += 1;
      if (actor.cut) throw new TypeError('Failed to fetch');
      const reach = () => this.practice.request(path, options);
      if (this.luck() >= actor.chance) return reach();
      return MISHAPS[Object.keys(MISHAPS)[Math.floor(this.luck() * Object.keys(MISHAPS).length)]](reach, options);
    };
  }

  /** @param {Actor} actor */
  async openWindow(actor, dieAt = Infinity) {
    if (actor.windows.length >= MOST_WINDOWS) return;
    const life = actor.phone.start(this.line(actor), { seed: this.below(1e6), dieAt });
    try {
      await life.app.refreshCounts();
      life.app.startSync(() => undefined);
      actor.windows.push(life);
      await life.pass(0);
    } catch (error) {
      if (life.alive) throw error;
    }
  }

  /** @param {Actor} actor */
  async dieSoon(actor) {
    await this.openWindow(actor, 1 + this.below(300));
  }

  /** @param {Actor} actor */
  async write(actor) {
    if (!actor.windows.length) await this.openWindow(actor);
    const life = this.pick(actor.windows);
    if (!life?.alive) return;
    const drafts = Array.from({ length: 1 + this.below(this.random() < 0.03 ? 120 : 3) }, () => this.draft(actor));
    try {
      const entries = await life.app.append(drafts);
      for (const { id } of entries) actor.ids.add(id);
      life.app.nudge();
    } catch (error) {
      // It died over it: kept or not, nobody said "saved". What is on the disk counts.
      if (life.alive) throw error;
      await this.lookAtDisk(actor);
    }
  }

  /** Something about an exam that all write, now and then about one that only this phone has. @param {Actor} actor */
  draft(actor) {
    if (this.open.length < MOST_OPEN) this.beginExam(this.random() < 0.2 ? `walk-in of ${actor.name}` : this.pick(PATIENTS));
    const exam = this.pick(this.open);
    exam.many += 1;
    if (exam.many > LONGEST_EXAM) this.open = this.open.filter((one) => one !== exam);
    const draft = { ...note(exam.many), exam: exam.id, patient: exam.patient };
    if (exam.many === 1) return { ...draft, kind: 'opened', body: { about: 'exam', date: '2026-11-24', visit: null, patient: { name: exam.patient, species: 'dog', weight_kg: '8.4' }, question: { text: '', structures: [] }, context: {} } };
    if (exam.many > LONGEST_EXAM) return { ...draft, kind: 'closed', body: { about: 'exam' } };
    const chance = this.random();
    if (chance < 0.1) return { ...draft, kind: 'attached', body: { about: 'liver', hash: 'ab'.repeat(32), type: 'image/jpeg' } };
    if (chance < 0.12) return { ...draft, kind: 'dreamt', body: { about: 'liver' } };
    if (chance < 0.2) return { ...draft, kind: 'set', body: { about: 'context.fasted', value: chance < 0.16 } };
    return draft;
  }

  /** @param {string} patient */
  beginExam(patient) {
    this.exams += 1;
    this.open.push({ id: `exam-${this.exams}`, patient, many: 0 });
  }

  /** All that was said to be kept is on the disk. @param {Actor} actor */
  async lookAtDisk(actor) {
    const there = new Set((await allRows(actor.phone.disk)).entries.filter((row) => row.own).map((row) => row.id));
    assert.deepEqual([...actor.ids].filter((id) => !there.has(id)), [], `${actor.name}: what was said to be kept is kept`);
    for (const id of there) actor.ids.add(id);
  }

  /** @param {Actor} actor */
  async pass(actor, most = 8000) {
    const ms = this.below(most);
    await Promise.all(actor.windows.map((one) => one.pass(ms)));
  }

  /** @param {Actor} actor */
  async passLong(actor) {
    await this.pass(actor, 20 * 60000);
  }

  /** @param {Actor} actor */
  async weather(actor) {
    actor.chance = this.pick([0, 0, 0, 0.3, 0.8]);
  }

  /** @param {Actor} actor */
  async cut(actor) {
    actor.cut = !actor.cut;
  }

  /** @param {Actor} actor */
  async die(actor) {
    if (actor.windows.length) this.pick(actor.windows).kill();
  }

  /** @param {Actor} actor */
  async tap(actor) {
    if (actor.windows.length) this.pick(actor.windows).app.sendNow();
  }

  /** @param {Actor} actor */
  async online(actor) {
    for (const one of actor.windows) one.heard.online();
  }

  /** @param {Actor} actor */
  async setClock(actor) {
    const by = this.pick([-6 * 365, -1, 0, 1, 20]) * 86400000;
    for (const one of actor.windows) one.wrongBy = by;
  }

  async deskNotes() {
    const exam = this.pick(this.open);
    if (!exam) return;
    const { ids } = await this.practice.do('note', { exam: exam.id, patient: exam.patient, text: `desk ${this.desk.size}` });
    for (const id of ids) this.desk.add(id);
  }

  async serverDies() {
    if (this.practice.alive) await this.practice.kill();
  }

  /** The next push that leaves a phone meets a death within moments: before, within or after its transaction. */
  async dieInPush() {
    if (this.practice.alive) this.practice.dieIn = this.below(20);
  }

  /** The server is there again, perhaps as another version. */
  async serverStarts() {
    if (this.practice.alive) return;
    await this.practice.kill();
    await this.practice.start(this.pick(OLDER));
  }

  async backup() {
    const { copies, faults } = await this.practice.do('backup');
    assert.deepEqual(faults, []);
    this.copies = copies;
  }

  async restore() {
    if (!this.copies) return;
    await this.practice.kill();
    const { ids } = await this.practice.do('restore', { copy: Math.max(0, this.copies - 1 - this.below(3)) });
    const there = new Set(ids);
    for (const id of this.desk) if (!there.has(id)) this.lost.add(id);
    this.desk = there;
    await this.practice.start(this.pick(OLDER));
  }

  async approve() {
    await this.practice.do('approve');
  }

  /** Somebody restores a backup of phone A to another phone. @param {Actor} _actor */
  async copyPhone(_actor) {
    if (this.actors.length > 2) return;
    const [first] = this.actors;
    const twin = new Actor('copy of A', first.token, new Phone());
    await copied(first.phone.disk, twin.phone);
    twin.ids = new Set(first.ids);
    await this.join(twin);
  }

  /** The faults stop: every window goes on as it is, and a phone without any is opened. @returns {Promise<number>} rounds of a minute until nothing waits */
  async calm() {
    this.practice.dieIn = null;
    await this.practice.kill();
    await this.practice.start();
    for (const actor of this.actors) {
      Object.assign(actor, { cut: false, chance: 0 });
      await this.openWindow(actor);
      await this.write(actor);
      actor.pushes = 0;
    }
    let rounds = 0;
    for (; rounds * 60000 < SOON_MS && (await this.waiting()); rounds += 1) {
      await this.approve();
      for (const actor of this.actors) await Promise.all(actor.windows.map((one) => one.pass(60000)));
    }
    // Once more by hand: everybody fetches what the others brought.
    for (const actor of this.actors) {
      for (const one of actor.windows) one.app.sendNow();
      await Promise.all(actor.windows.map((one) => one.pass(1000)));
    }
    return rounds;
  }

  async waiting() {
    let sum = 0;
    for (const actor of this.actors) sum += (await allRows(actor.phone.disk)).waiting.length;
    return sum;
  }

  /** Whole contents: the practice against every phone, to the byte. @param {string} words */
  async compare(words) {
    await this.practice.kill();
    await this.practice.start();
    await this.practice.request('/review', {});
    const { rows, grave, unlike, behind, split } = await this.practice.do('held');
    const held = new Map(rows.map((row) => [row.id, row]));
    assert.deepEqual([grave, unlike, behind], [[], [], []], words);
    assert.deepEqual(usedTwice(rows).filter((device) => !split.includes(device)), [], `${words}: a name under which two wrote is known for that`);
    const written = new Set(this.desk);
    const names = new Map();
    for (const actor of this.actors) {
      await this.lookAtDisk(actor);
      for (const id of actor.ids) written.add(id);
      const { entries, waiting, meta } = await allRows(actor.phone.disk);
      const { device } = meta.get('device');
      assert.equal(names.get(device), undefined, `${words}: ${actor.name} and another one write under one name`);
      names.set(device, actor.name);
      assert.equal(waiting.length, 0, `${words}: ${actor.name} has nothing left to send`);
      for (const row of entries.filter((one) => held.has(one.id))) {
        assert.deepEqual([row.header, row.body], [held.get(row.id).header, held.get(row.id).body], `${words}: byte for byte`);
      }
      const here = new Set(entries.map((row) => row.id));
      const extra = [...here].filter((id) => !held.has(id) && !this.lost.has(id));
      const missing = rows.filter((row) => listed(row) && !here.has(row.id));
      assert.deepEqual([extra, missing.map((row) => row.id)], [[], []], `${words}: ${actor.name} holds what the practice holds of its list`);
    }
    assert.deepEqual([...held.keys()].filter((id) => !written.has(id)), [], `${words}: nothing that nobody wrote`);
    assert.deepEqual([...written].filter((id) => !held.has(id)), [], `${words}: everything that was kept`);
    assert.deepEqual([...new Set(rows.map((row) => row.why))].filter((why) => why && why !== 'kind'), [], words);
    assert.ok(rows.every((row) => (row.why === 'kind') === (JSON.parse(row.header).kind === 'dreamt')), `${words}: only what no version knows is unread`);
    return rows.length;
  }
}

/** Devices of which two entries claim one place: a phone and its copy both wrote. @param {any[]} rows @returns {string[]} */
function usedTwice(rows) {
  const places = new Map();
  const found = new Set();
  for (const { device, header } of rows) {
    const place = `${device} ${JSON.parse(header).seq}`;
    if (places.has(place)) found.add(device);
    places.set(place, header);
  }
  return [...found];
}

/** Belongs to today's list, which every phone fetches. @param {any} row */
function listed(row) {
  return PATIENTS.includes(JSON.parse(row.header).patient);
}
