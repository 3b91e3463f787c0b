/**
 * A phone, its practice and everything between them by chance: taps, windows, deaths, faults, restores, moving clocks.
 * Whatever happens, what was kept stays kept and one window sends; and when the faults stop, all is sent soon.
 * GELSIDE_SEED=n plays one seed alone.
 */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { dice } from './rig/clock.mjs';
import { allArrivedOnce, note, rowsOf, written } from './rig/notes.mjs';
import { Phone } from './rig/phone.mjs';
import { FAULTS, Practice, network } from './rig/practice.mjs';

const SEEDS = process.env.GELSIDE_SEED ? [Number(process.env.GELSIDE_SEED)] : Array.from({ length: 20 }, (_, seed) => seed + 1);
const TURNS = 60;
/** The longest wait that the loop ever takes, and one request that hangs. */
const SOON_MS = 15 * 60000 + 20000;
const ROUNDS = 12;

class Monkey {
  /** @param {number} seed */
  constructor(seed) {
    this.random = dice(seed);
    this.phone = new Phone();
    this.practice = new Practice();
    this.way = network(this.practice);
    this.chance = 0;
    this.way.fault = () => (this.random() < this.chance ? this.pick(Object.keys(FAULTS)) : null);
    /** @type {any[]} */
    this.windows = [];
    /** @type {string[]} */
    this.ids = [];
    /** @type {string[]} */
    this.did = [];
    this.copies = [this.practice.copy()];
    this.acts = { write: 8, pass: 6, passLong: 2, weather: 3, open: 2, die: 2, dieSoon: 2, tap: 2, online: 1, setClock: 1, nightly: 1, restore: 0.4, putBack: 0.4 };
  }

  /** @template T @param {T[]} list @returns {T} */
  pick(list) {
    return list[Math.floor(this.random() * list.length)];
  }

  below(most) {
    return Math.floor(this.random() * most);
  }

  /** One thing happens. */
  async turn() {
    let at = this.random() * Object.values(this.acts).reduce((sum, one) => sum + one, 0);
    const [name] = Object.entries(this.acts).find(([, weight]) => (at -= weight) < 0);
    this.did.push(name);
    await this[name]();
    this.windows = this.windows.filter((one) => one.alive);
    assert.ok(this.phone.most <= 1, 'one flight');
  }

  async open(dieAt = Infinity) {
    if (this.windows.length >= 3) return;
    const life = this.phone.start((path, options) => this.way.go(path, options), { seed: this.below(1e6), dieAt });
    try {
      await life.app.refreshCounts();
      life.app.startSync(() => undefined);
      this.windows.push(life);
      await life.pass(0);
    } catch (error) {
      if (life.alive) throw error;
    }
  }

  async dieSoon() {
    await this.open(1 + this.below(300));
  }

  async write() {
    if (!this.windows.length) await this.open();
    const life = this.pick(this.windows);
    if (!life?.alive) return;
    try {
      const entries = await life.app.append(Array.from({ length: 1 + this.below(this.random() < 0.1 ? 250 : 4) }, () => note(this.ids.length)));
      this.ids.push(...entries.map((entry) => entry.id));
      life.app.nudge();
    } catch (error) {
      // It died over it: kept or not, nobody said "saved". What is on the disk counts.
      if (life.alive) throw error;
      await this.lookAtDisk();
    }
  }

  /** What a dying window still brought to the disk belongs to the phone. */
  async lookAtDisk() {
    const life = this.phone.start(async () => { throw new TypeError('no network'); });
    const rows = (await rowsOf(life)).filter((row) => row.own).sort((a, b) => a.seq - b.seq);
    life.kill();
    assert.deepEqual(rows.slice(0, this.ids.length).map((row) => row.id), this.ids, 'what was said to be kept is kept');
    this.ids = rows.map((row) => row.id);
  }

  async pass(most = 8000) {
    const ms = this.below(most);
    await Promise.all(this.windows.map((one) => one.pass(ms)));
  }

  async passLong() {
    await this.pass(20 * 60000);
  }

  async weather() {
    this.chance = this.pick([0, 0, 0.3, 0.8, 1]);
  }

  async die() {
    if (this.windows.length) this.pick(this.windows).kill();
  }

  async tap() {
    if (this.windows.length) this.pick(this.windows).app.sendNow();
  }

  async online() {
    for (const one of this.windows) one.heard.online();
  }

  async setClock() {
    const by = this.pick([-6 * 365, -1, 0, 1, 30]) * 86400000;
    for (const one of this.windows) one.wrongBy = by;
  }

  async nightly() {
    this.copies.push(this.practice.copy());
  }

  async restore() {
    this.practice.restore(this.pick(this.copies), true);
  }

  /** Somebody copies an old file over the new one: the store says nothing of it. */
  async putBack() {
    this.practice.restore(this.pick(this.copies), false);
  }

  /** The faults stop. The windows that are open go on as they are; without any, one is opened. */
  async calm() {
    this.chance = 0;
    for (const one of this.windows) one.dieAt = Infinity;
    if (!this.windows.length) await this.open();
    // A file put back by hand is noticed by the next entry that goes.
    await this.write();
    const [life] = this.windows;
    this.way.seen.length = 0;
    for (let waited = 0; waited < SOON_MS; waited += 1000) {
      await Promise.all(this.windows.map((one) => one.pass(1000)));
      if ((await life.app.counts()).pending === 0) break;
    }
    await Promise.all(this.windows.map((one) => one.pass(5000)));
    return life;
  }
}

test('catalogue 35: whatever happened, what was kept is kept, one window sends, and once the faults stop all is sent soon', async (context) => {
  for (const seed of SEEDS) {
    const monkey = new Monkey(seed);
    const words = () => `seed ${seed}: ${monkey.did.join(' ')}`;
    try {
      await written(monkey.phone, 0);
      for (let turn = 0; turn < TURNS; turn += 1) await monkey.turn();
      const life = await monkey.calm();
      await allArrivedOnce(life, monkey.practice, monkey.ids, words());
      const pushes = monkey.way.seen.filter(({ method }) => method === 'POST').length;
      const batches = Math.ceil(monkey.ids.length / 100);
      assert.ok(pushes <= ROUNDS + batches, `${pushes} pushes for ${monkey.ids.length} entries after the faults stopped`);
    } catch (error) {
      context.diagnostic(words());
      throw error;
    }
  }
});
