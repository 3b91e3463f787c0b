/**
 * A seeded walk through pairing on the phone: codes right, wrong and old, a desk that confirms, refuses or forgets, a
 * line that breaks, a person who stops and begins again. No token without the desk's word, no word of an earlier try.
 */
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { test } from 'node:test';
import { Phone, Practice, dice, timersPass } from './phone.mjs';

const POLL_MS = 2000;
const SEEDS = (process.env.GELSIDE_SEEDS || '1,2,3,4').split(',').map(Number);
const practice = await Practice.found();

/** The desk's own way to the number (webapp/pairing/codes.py). */
function numberAtDesk(proof, device) {
  const digest = createHash('sha256').update(`gelside-pair${proof}${device}`).digest('hex');
  return String(parseInt(digest.slice(0, 10), 16) % 1000000).padStart(6, '0');
}

class Walk {
  constructor(seed) {
    this.random = dice(seed);
    this.log = [];
    this.given = 0;
  }

  pick(list) {
    return list[Math.floor(this.random() * list.length)];
  }

  async begin() {
    practice.pairings.clear();
    practice.tokens.clear();
    practice.line = 'good';
    this.phone = new Phone(practice);
    this.app = await this.phone.start();
    this.device = (await this.app.journal.deviceState()).device;
  }

  get form() {
    return this.app.state.state.form;
  }

  /** Someone is on the page and presses connect. @param {string} secret */
  async connect(secret) {
    this.app.state.update({ screen: 'pair', form: {} });
    this.tried = secret;
    this.app.pair.pair({ secret }, 'Phone', async () => {
      this.given += 1;
      this.app.state.update({ screen: 'list', form: null });
    });
    await timersPass(0);
    this.shown = Boolean(this.form?.number);
  }

  async check() {
    const token = await this.app.token.readToken();
    assert.equal(token !== null, this.given > 0, 'a token came with the desk\'s word alone');
    if (token) assert.equal(practice.tokens.get(token), 'approved');
    const collected = [...practice.pairings.values()].filter((one) => one.confirmedOnce && one.device === this.device);
    assert.ok(this.given <= collected.length);
    const own = [...practice.pairings.values()].find((one) => one.secret === this.tried);
    if (this.app.screen === 'pair' && this.shown && own?.state === 'waiting') assert.ok(this.form.number, 'what became of an earlier try is not this one\'s');
    if (this.app.screen === 'pair' && this.form.number) {
      assert.equal(this.form.number, numberAtDesk(this.tried, this.device), 'both sides make the same number');
    }
  }
}

const STEPS = {
  async startAtDesk() {
    this.newest = practice.start(`secret-${practice.pairings.size}-with-enough-length`);
  },
  async connectNewest() {
    if (this.newest) await this.connect(this.newest.secret);
  },
  async connectWrong() {
    await this.connect('a-code-that-nobody-made');
    if (practice.line === 'good') assert.match(this.form.words, /not known, was used or is over/);
    assert.ok(!this.form.number);
  },
  async decide() {
    const waiting = [...practice.pairings.values()].filter((one) => one.state === 'waiting');
    if (!waiting.length) return;
    const one = this.pick(waiting);
    one.state = this.pick(['confirmed', 'confirmed', 'refused', 'expired']);
    one.confirmedOnce = one.confirmedOnce || one.state === 'confirmed';
  },
  async poll() {
    const { given } = this;
    const shown = this.app.screen === 'pair' && this.form.number;
    const mine = this.newest && this.newest.secret === this.tried ? this.newest.state : null;
    await timersPass(POLL_MS);
    if (!shown || practice.line !== 'good') return;
    if (mine === 'confirmed') assert.equal(this.given, given + 1, 'one look after the desk\'s word it is connected');
    if (mine === 'refused' || mine === 'expired') assert.match(this.form.words, /not known, was used or is over/);
  },
  async line() {
    practice.line = this.pick(['good', 'good', 'good', 'cut', 'lost']);
  },
  async stop() {
    this.app.state.update({ screen: 'list', form: null });
    this.tried = null;
  },
};

for (const seed of SEEDS) {
  test(`a phone is connected by the desk's word alone, whatever is tried (seed ${seed})`, async () => {
    const walk = new Walk(seed);
    await walk.begin();
    try {
      for (let step = 0; step < 120; step += 1) {
        const name = walk.pick(Object.keys(STEPS));
        walk.log.push(name);
        await STEPS[name].call(walk);
        await walk.check();
      }
      assert.ok(walk.log.includes('decide'));
    } catch (error) {
      error.message = `seed ${seed}, after ${walk.log.slice(-25).join(' ')}: ${error.message}`;
      throw error;
    }
  });
}

test('what became of an earlier try is not said of this one', async () => {
  const walk = new Walk(1);
  await walk.begin();
  const [first, second] = ['first-try-with-enough-length', 'second-try-with-enough-length'].map((secret) => practice.start(secret));
  await walk.connect(first.secret);
  await walk.connect(second.secret);
  first.state = 'refused';
  await timersPass(POLL_MS);
  assert.equal(walk.form.number, numberAtDesk(second.secret, walk.device));
  second.state = 'confirmed';
  await timersPass(POLL_MS);
  assert.deepEqual([walk.given, walk.app.screen], [1, 'list']);
});
