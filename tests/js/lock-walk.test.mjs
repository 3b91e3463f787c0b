/**
 * A seeded walk through the lock: PINs right and wrong, hiding, killing, windows, exams, sending over a bad line,
 * revoking, forgetting. After every step: no plaintext at rest once sealed, no entry lost, an exam in hand is
 * reachable without a PIN, and the data key is nowhere but wrapped or in a form that cannot be read out.
 * A failure prints its seed and steps; GELSIDE_SEEDS=7,8 plays those.
 */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { inspect } from 'node:util';
import { Phone, Practice, dice, secrets, stretched } from './phone.mjs';

const SEEDS = (process.env.GELSIDE_SEEDS || '1,2,3,4,5,6').split(',').map(Number);
const STEPS = 60;
const practice = await Practice.found();

/** One phone, what it should be, and the steps that may be taken at any time. */
class Walk {
  constructor(seed) {
    this.random = dice(seed);
    this.made = 0;
    /** @type {Map<string, string>} id of every entry that the phone called kept, to a word only it holds */
    this.kept = new Map();
    this.pin = null;
    this.wrong = 0;
    this.exam = null;
    this.log = [];
  }

  pick(list) {
    return list[Math.floor(this.random() * list.length)];
  }

  word() {
    this.made += 1;
    return `SECRET-${this.made}-`;
  }

  async begin() {
    practice.held.clear();
    practice.heard.length = 0;
    practice.tokens = new Map();
    practice.line = 'good';
    this.phone = new Phone(practice);
    this.app = await this.phone.start();
    await this.pairAnew();
  }

  get readable() {
    return this.app.vault.isReadable();
  }

  note(entries, word) {
    for (const { id } of entries) this.kept.set(id, word);
  }

  async step() {
    const name = this.pick(Object.keys(STEPS_BY_NAME));
    this.log.push(name);
    await STEPS_BY_NAME[name].call(this);
  }

  async pairAnew() {
    const token = `token-${practice.tokens.size}`;
    practice.tokens.set(token, 'approved');
    await this.app.token.keepToken(token, { practice: practice.told(), pull: null, revoked: null });
    await this.app.settings.loadSettings();
    await this.app.sync.refreshCounts();
  }

  /** A kill, and a start in a fresh window. */
  async restart() {
    this.app = await this.phone.start();
    if (this.app.screen === 'resume') await this.app.goOn();
  }

  async tryPin(pin) {
    const readable = this.readable;
    const blocked = this.wrong >= 10;
    await this.app.lock.tryPin(pin, () => this.app.enter());
    if (readable || blocked) return;
    this.wrong = pin === this.pin ? 0 : this.wrong + 1;
    assert.equal(this.readable, pin === this.pin, 'the right PIN opens, another does not');
  }

  async check() {
    const stored = await this.phone.stored();
    const text = inspect(stored, { depth: 12, maxArrayLength: null, maxStringLength: null });
    const lock = stored.meta.get('lock');
    assert.equal(Boolean(lock), this.pin !== null, 'there is a lock when a PIN was set');
    if (lock) {
      assert.ok(!text.includes('SECRET-'), 'no plaintext at rest');
      assert.equal(lock.wrong, this.wrong, 'every wrong try is counted');
      this.keysAreWrapped(stored);
    }
    const waiting = new Set(stored.waiting.values());
    for (const [id, word] of this.kept) {
      const row = stored.entries.get(id);
      const atPractice = practice.held.has(id);
      assert.ok(atPractice || (row && !row.closed), `${word} is on the phone or at the practice`);
      assert.ok(atPractice || waiting.has(id), `${word} waits to be sent until the practice has it`);
    }
    if (this.exam) assert.ok(this.readable && this.app.screen === 'exam', 'the exam in hand is reachable');
    if (!this.readable) await assert.rejects(this.app.vault.sealText('any', 'text'), /locked/);
    assert.equal(this.app.screen === 'locked', !this.readable, 'the screen says so');
    assert.equal(Boolean(stored.draft.get('held_key')), Boolean(lock && this.exam), 'a key waits for an exam in hand alone');
  }

  keysAreWrapped({ meta, entries, draft }) {
    const bytes = [];
    const look = (value) => {
      if (value instanceof CryptoKey) assert.equal(value.extractable, false);
      else if (value instanceof ArrayBuffer) bytes.push(Buffer.from(value));
      else if (ArrayBuffer.isView(value)) bytes.push(Buffer.from(value.buffer));
      else if (typeof value === 'string') bytes.push(Buffer.from(value));
      else if (value && typeof value === 'object') Object.values(value).forEach(look);
    };
    for (const store of [meta, entries, draft]) [...store.values()].forEach(look);
    const lines = practice.heard.join('\n');
    for (const secret of secrets.slice(-20)) {
      assert.ok(!bytes.some((one) => one.includes(secret)), 'the data key lies nowhere in the clear');
      for (const form of ['hex', 'base64', 'base64url']) assert.ok(!lines.includes(secret.toString(form)), 'nor was it sent');
    }
  }
}

/** @type {Record<string, (this: Walk) => Promise<void>>} */
const STEPS_BY_NAME = {
  async write() {
    if (!this.readable) return;
    const word = this.word();
    this.note(await this.app.write(this.exam || 'e0', 'noted', { about: 'exam', text: word }), word);
  },
  async beginExam() {
    if (!this.readable || this.exam) return;
    const word = this.word();
    this.exam = `exam-${this.made}`;
    this.note([await this.app.beginExam(this.exam, word)], word);
  },
  async leaveExam() {
    if (!this.exam) return;
    this.exam = null;
    this.note(await this.app.leaveExam(this.random() < 0.5), 'the end');
  },
  async setPin() {
    if (this.pin) return;
    this.pin = this.pick(['1357', '24680', '999999']);
    await this.app.lock.setPin(this.pin);
  },
  async hideShort() {
    const { readable } = this;
    await this.phone.hide(4.5);
    assert.equal(this.readable, readable, 'less than five minutes change nothing');
  },
  async hideLong() {
    await this.phone.hide(5);
    if (this.pin && !this.exam) assert.equal(this.readable, false, 'five minutes lock');
  },
  async lockNow() {
    await this.app.lock.lockAll();
  },
  async rightPin() {
    if (this.pin && !this.readable) await this.tryPin(this.pin);
  },
  async wrongPin() {
    if (this.pin && !this.readable) await this.tryPin('4321');
  },
  async manyWrongPins() {
    for (let turn = 0; this.pin && turn < 4 && !this.readable; turn += 1) await this.tryPin('4321');
  },
  async changePin() {
    if (!this.pin || !this.readable) return;
    const [before, next] = this.random() < 0.6 ? [this.pin, this.pick(['2468', '13579'])] : ['4321', '8888'];
    const blocked = this.wrong >= 10;
    const outcome = await this.app.vault.changePin(before, next);
    if (blocked) assert.equal(outcome, 'blocked');
    else if (before !== this.pin) this.wrong += 1;
    else [this.pin, this.wrong] = [next, 0];
  },
  async kill() {
    await this.restart();
    if (this.pin && !this.exam) assert.equal(this.readable, false, 'a start asks for the PIN');
  },
  async secondWindow() {
    const other = await this.phone.start(true);
    if (other.vault.isReadable()) {
      const word = this.word();
      this.note(await other.write('e0', 'noted', { about: 'exam', text: word }), word);
    } else await assert.rejects(other.write('e0', 'noted', { about: 'exam', text: 'never kept' }), /locked/);
  },
  async line() {
    practice.line = this.pick(['good', 'good', 'cut', 'lost']);
  },
  async send() {
    await this.app.round();
  },
  async revokeAndLetIn() {
    const [token] = [...practice.tokens.keys()].slice(-1);
    practice.tokens.set(token, this.random() < 0.5 ? 'revoked' : 'approved');
  },
  async forgotten() {
    if (!this.pin || this.readable) return;
    const before = practice.line;
    try {
      await this.app.lock.startAnew();
    } catch (error) {
      assert.notEqual(before, 'good', error.message);
      return;
    }
    assert.ok([...this.kept.keys()].every((id) => practice.held.has(id)), 'all is at the practice before anything goes');
    [this.pin, this.wrong] = [null, 0];
    this.app.state.update({ screen: 'list', form: null });
    await this.pairAnew();
  },
};

/** The phone cleared itself: everything it ever kept is at the practice, and it starts as a new one. */
async function afterClearing(walk) {
  if (!(await walk.phone.stored()).meta.has('cleared')) return;
  assert.equal(walk.exam, null, 'never under an exam in hand');
  assert.ok([...walk.kept.keys()].every((id) => practice.held.has(id)), 'a phone clears itself only when all is at the practice');
  [walk.pin, walk.wrong] = [null, 0];
  walk.app = await walk.phone.start();
  await walk.app.db.setMeta('cleared', undefined);
  const { meta } = await walk.phone.stored();
  assert.deepEqual([meta.has('lock'), meta.has('token')], [false, false]);
  await walk.app.db.transaction(['meta'], 'readwrite', (tx) => tx.objectStore('meta').delete('cleared'));
  await walk.pairAnew();
}

for (const seed of SEEDS) {
  test(`catalogue 63: whatever happens to the lock, no entry is lost and none lies open (seed ${seed})`, async () => {
    const walk = new Walk(seed);
    await walk.begin();
    try {
      for (let step = 0; step < STEPS; step += 1) {
        await walk.step();
        await afterClearing(walk);
        await walk.check();
      }
      assert.ok(stretched.every((times) => times === 600000));
    } catch (error) {
      error.message = `seed ${seed}, after ${walk.log.join(' ')}: ${error.message}`;
      throw error;
    }
  });
}
