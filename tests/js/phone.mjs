/**
 * A phone under node: the app's own modules over a storage in memory, with a clock, windows and a practice that the
 * test moves. A window is a fresh set of the modules ("?window=3"), so what only lies in memory dies with it.
 */
import { createRequire, register } from 'node:module';
import { Practice } from './practice.mjs';
import { dice } from './rig/clock.mjs';

const ROOT = new URL('../../', import.meta.url);
register('./resolve.mjs', import.meta.url);
const require = createRequire(new URL('sw/package.json', ROOT));
require('fake-indexeddb/auto');
const { IDBFactory } = require('fake-indexeddb');

/** How often the PIN was stretched, as it was asked for. The walks themselves stretch less: they try many PINs. */
export const stretched = [];
const QUICK = 1000;
const derive = crypto.subtle.deriveKey;
crypto.subtle.deriveKey = function quick(how, ...rest) {
  stretched.push(how.iterations);
  return derive.call(crypto.subtle, { ...how, iterations: QUICK }, ...rest);
};

/** Crypto runs on threads of its own: how much of it is on its way. */
let underWay = 0;
for (const name of ['encrypt', 'decrypt', 'digest', 'importKey', 'deriveKey', 'generateKey']) {
  const act = crypto.subtle[name];
  crypto.subtle[name] = async (...given) => {
    underWay += 1;
    try {
      return await act.apply(crypto.subtle, given);
    } finally {
      underWay -= 1;
    }
  };
}

/** Every 32 random bytes that were made: data keys are among them. */
export const secrets = [];
const random = crypto.getRandomValues;
crypto.getRandomValues = function noted(array) {
  const made = random.call(crypto, array);
  if (made.byteLength === 32) secrets.push(Buffer.from(made));
  return made;
};

const RealDate = Date;
const realTimeout = setTimeout;
const clock = { ahead: 0, timers: new Map(), next: 0 };
globalThis.Date = class extends RealDate {
  constructor(...given) {
    super(...(given.length ? given : [RealDate.now() + clock.ahead]));
  }

  static now() {
    return RealDate.now() + clock.ahead;
  }
};
globalThis.setTimeout = (act, ms = 0) => {
  clock.next += 1;
  clock.timers.set(clock.next, { act, at: clock.ahead + ms });
  return clock.next;
};
globalThis.clearTimeout = (timer) => clock.timers.delete(timer);
Object.assign(globalThis, { GELSIDE_VERSION: 'test', GELSIDE_WORKER: '/worker.js' });
for (const name of ['RUNTIME', 'WASM', 'TABLES', 'RULES']) globalThis[`GELSIDE_${name}`] = `/${name}`;

const page = { listeners: [], reloads: 0 };
globalThis.document = {
  visibilityState: 'visible',
  addEventListener: (type, act) => page.listeners.push({ type, act }),
  getElementById: () => null,
  querySelector: () => null,
  documentElement: {},
  createTreeWalker: () => ({}),
  createComment: () => ({}),
};
globalThis.addEventListener = () => undefined;
globalThis.location = { hash: '', reload: () => { page.reloads += 1; } };
const rounds = { begun: 0, ended: 0 };
Object.defineProperty(globalThis, 'navigator', {
  configurable: true,
  value: {
    locks: {
      async request(_name, _options, act) {
        rounds.begun += 1;
        try {
          return await act({});
        } finally {
          rounds.ended += 1;
        }
      },
    },
  },
});

/** Windows hear each other within the process, a turn later. */
const channels = new Set();
globalThis.BroadcastChannel = class {
  constructor(name) {
    this.name = name;
    channels.add(this);
  }

  postMessage(data) {
    for (const other of channels) if (other !== this && other.name === this.name) queueMicrotask(() => other.onmessage?.({ data }));
  }
};

/** Wait for what comes about by itself. */
async function until(holds, words) {
  const end = RealDate.now() + 60000;
  while (!holds()) {
    if (RealDate.now() > end) throw new Error(`it never came about: ${words}`);
    await new Promise((resolve) => realTimeout(resolve, 1));
  }
}

let windows = 0;

export class Phone {
  /** @param {Practice} practice */
  constructor(practice) {
    this.practice = practice;
    globalThis.indexedDB = new IDBFactory();
    globalThis.fetch = (path, init) => practice.answer(path, init);
    globalThis.document.visibilityState = 'visible';
    clock.timers.clear();
    clock.ahead = 0;
  }

  /** Start the app in a window of its own; all others end as by a kill unless `beside`. */
  async start(beside = false) {
    if (!beside) {
      channels.clear();
      page.listeners.length = 0;
      clock.timers.clear();
    }
    windows += 1;
    const load = (name) => import(new URL(`static/app/${name}.js?window=${windows}`, ROOT));
    const names = ['state', 'lock', 'vault', 'journal', 'sync', 'shelf', 'in-hand', 'view-resume', 'settings', 'token', 'db', 'pair', 'revoked', 'waiting', 'view-list', 'day', 'engine'];
    const loaded = Object.fromEntries(await Promise.all(names.map(async (name) => [name.replace('-', '_'), await load(name)])));
    const app = new Window(this, loaded);
    await app.begin();
    return app;
  }

  async hide(minutes) {
    await this.show('hidden');
    this.pass(minutes);
    await this.show('visible');
  }

  /** Time passes, or the clock is set back; timers of a page that sleeps do not run. */
  pass(minutes) {
    clock.ahead += minutes * 60000;
  }

  async show(visibilityState) {
    globalThis.document.visibilityState = visibilityState;
    for (const { type, act } of page.listeners) if (type === 'visibilitychange') act();
    await rest();
  }

  /** Windows no longer hear each other. */
  noMessages() {
    channels.clear();
  }

  /** Everything that lies in storage. @returns {Promise<Record<string, Map<any, any>>>} */
  async stored() {
    const opened = await new Promise((resolve, reject) => {
      const asked = globalThis.indexedDB.open('gelside');
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
    });
    const all = {};
    for (const name of opened.objectStoreNames) {
      const store = opened.transaction(name).objectStore(name);
      const [keys, values] = await Promise.all([store.getAllKeys(), store.getAll()].map((asked) => new Promise((resolve) => {
        asked.onsuccess = () => resolve(asked.result);
      })));
      all[name] = new Map(keys.map((key, place) => [key, values[place]]));
    }
    opened.close();
    return all;
  }
}

/** Let the phone come to rest: so many turns of the event loop with nothing on a thread. */
async function rest(many = 30) {
  for (let turn = 0; turn < many; turn = underWay ? 0 : turn + 1) await new Promise((resolve) => setImmediate(resolve));
}

class Window {
  /** @param {Phone} phone @param {any} loaded the modules of this window */
  constructor(phone, loaded) {
    Object.assign(this, loaded, { phone });
  }

  get screen() {
    return this.state.state.screen;
  }

  /** As the page starts, without its drawing. */
  async begin() {
    // Without threads in this node the rules say so at once; a test that gives it some prepares them itself.
    if (!globalThis.Worker) this.engine.prepareEngine(() => undefined, null);
    await this.settings.loadSettings();
    const readable = await this.lock.wake(this.view_resume.resumable);
    await this.sync.refreshCounts();
    if (readable) await this.enter();
    else this.state.update({ screen: 'locked', form: { pin: '', words: '' } });
    this.lock.watchLock();
    await this.lock.handChanged();
  }

  async enter() {
    const resume = await this.view_resume.resumable(await this.in_hand.readDraft('position'));
    this.state.update({ resume, screen: resume ? 'resume' : 'list' });
  }

  /** Begin an exam: its opening is kept, the hand has a place with digits typed. @param {string} exam @param {string} words */
  async beginExam(exam, words) {
    const [opened] = await this.write(exam, 'opened', { about: 'exam', date: '2026-11-24', visit: null, patient: { name: words, species: 'dog' }, question: { text: '', structures: [] }, context: {} });
    const view = { id: exam, closed: false, signed: false, patient: { name: words } };
    this.state.update({ session: { id: exam, entries: [opened], provisional: [], typed: '', unsaved: null, view }, screen: 'exam', resume: null });
    await this.in_hand.keepDraft('position', { exam, structure: 'liver', row: null, typed: words, how: {}, at: new Date().toISOString() });
    await this.lock.handChanged();
    return opened;
  }

  /** Go on with the exam that waited to be resumed. */
  async goOn() {
    const { position, view } = this.state.state.resume;
    this.state.update({ session: { id: position.exam, entries: [], provisional: [], typed: '', unsaved: null, view }, screen: 'exam', resume: null });
    await this.lock.handChanged();
  }

  /** Finish the exam in hand, or leave it as it is. @param {boolean} finished */
  async leaveExam(finished) {
    const kept = finished ? await this.write(this.state.state.session.id, 'closed', { about: 'exam', limits_version: '1' }) : [];
    await this.in_hand.keepDraft('position', null);
    this.state.update({ session: null, screen: 'list' });
    await this.lock.handChanged();
    return kept;
  }

  /** Append one entry. @param {string | null} exam @param {string} kind @param {any} body */
  write(exam, kind, body) {
    return this.journal.append([{ exam, patient: 'p', author: 'VS', behalf: null, kind, after: [], of: [], body }]);
  }

  /** One round of the sending loop, and what follows it. */
  async round() {
    const { ended } = rounds;
    clock.timers.clear();
    this.sync.sendNow();
    const [[timer, { act }]] = clock.timers;
    clock.timers.delete(timer);
    act();
    await until(() => rounds.ended > ended && clock.timers.size > 0, 'the end of a round');
  }
}

/** What was planned for later runs now, in order. @param {number} ms how far ahead */
export async function timersPass(ms) {
  const end = clock.ahead + ms;
  for (;;) {
    const [next] = [...clock.timers].filter(([, timer]) => timer.at <= end).sort((a, b) => a[1].at - b[1].at);
    if (!next) break;
    clock.timers.delete(next[0]);
    clock.ahead = Math.max(clock.ahead, next[1].at);
    next[1].act();
    await rest();
  }
  clock.ahead = end;
  await rest();
}

export { dice, Practice };
