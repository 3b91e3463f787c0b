/**
 * A phone in node: the app's own journal, shelf, push, loop and sync, bundled as for the phone, over an IndexedDB that
 * outlives every start. Each start is a life with fresh modules and a clock of its own; a life can be killed at any
 * step, and then nothing it still tries reaches the disk or the network.
 */
import { createHash } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import { dice, fakeClock } from './clock.mjs';

const root = new URL('../../../', import.meta.url);
const modules = new URL('sw/node_modules/', root);
const { build } = await import(new URL('esbuild/lib/main.js', modules));
const idb = await import(new URL('fake-indexeddb/build/esm/index.js', modules));

const ENTRY = `
export { append, counts, examEntries, getMeta, sealAllRows, setMeta, storePulled } from './journal.js';
export { viewOf } from './exam-view.js';
export { nudge, refreshCounts, sendNow, startSync } from './sync.js';
export { journalFile } from './copy.js';
export { transaction } from './db.js';
export { pendingRows } from './waiting.js';
export { makeLock, shut, wakeVault } from './vault.js';
export { state } from './state.js';
`;
const bundled = await build({
  stdin: { contents: ENTRY, resolveDir: fileURLToPath(new URL('static/app/', root)), loader: 'js' },
  bundle: true, write: false, format: 'iife', globalName: 'phone', target: ['es2022'], logLevel: 'error',
  nodePaths: [fileURLToPath(modules)], define: { GELSIDE_VERSION: '"test"' },
});
const code = `${bundled.outputFiles[0].text}\nreturn phone;`;

/** What a phone's clock shows at the beginning. */
export const MORNING = Date.UTC(2026, 10, 24, 8);
const STILL_TURNS = 8;
const MANY_TURNS = 200;

/** The disk and the Web Lock of one phone, shared by its windows and its lives. */
export class Phone {
  constructor() {
    this.disk = new idb.IDBFactory();
    /** @type {Life | null} whose window sends */
    this.sending = null;
    /** Pushes of living windows that are on their way, and the most of them at once. */
    this.flying = new Set();
    this.most = 0;
  }

  /**
   * Start the app.
   * @param {(path: string, options: any) => Promise<Response>} network
   * @param {{seed?: number, dieAt?: number}} [how] dieAt: the step at which it is killed
   */
  start(network, { seed = 1, dieAt = Infinity } = {}) {
    return new Life(this, network, dice(seed), dieAt);
  }
}

export class Life {
  /** @param {Phone} phone @param {(path: string, options: any) => Promise<Response>} network @param {() => number} random @param {number} dieAt */
  constructor(phone, network, random, dieAt) {
    Object.assign(this, { phone, network, random, dieAt, alive: true, steps: 0, lastStep: '' });
    /** By how much the person (or the network) has set the device's clock wrong. */
    this.wrongBy = 0;
    /** What is under way; a request that hangs is not. */
    this.underway = new Set();
    /** @type {Set<any>} */
    this.transactions = new Set();
    /** @type {Set<any>} */
    this.handles = new Set();
    /** @type {Record<string, () => void>} */
    this.heard = {};
    this.clock = fakeClock(0.5, () => this.quiet());
    this.clock.random = random;
    this.app = this.load();
  }

  /** Fresh modules; everything they may reach goes through doors that this life can shut. */
  load() {
    const life = this;
    const { clock, random } = this;
    const listen = (name, act) => (this.heard[name] = act);
    class Today extends Date {
      constructor(...given) {
        super(...(given.length ? given : [Today.now()]));
      }

      static now() {
        return MORNING + clock.now + life.wrongBy;
      }
    }
    const doors = {
      indexedDB: this.factory(), IDBKeyRange: idb.IDBKeyRange, IDBDatabase: idb.IDBDatabase, IDBObjectStore: idb.IDBObjectStore,
      IDBIndex: idb.IDBIndex, IDBCursor: idb.IDBCursor, IDBTransaction: idb.IDBTransaction, IDBRequest: idb.IDBRequest,
      fetch: (path, options) => this.fetch(path, options),
      navigator: { locks: { request: (_name, _how, act) => this.lock(act) } },
      document: { addEventListener: listen, visibilityState: 'visible' },
      BroadcastChannel: class {},
      setTimeout: (act, ms) => clock.later(act, ms), clearTimeout: (timer) => clock.cancel(timer),
      performance: { now: () => clock.now }, Date: Today, Math: Object.assign(Object.create(Math), { random }),
      // Not a signal but a promise: `fetch` below is the only one that looks at it.
      AbortSignal: { timeout: (ms) => new Promise((ring) => { clock.later(() => ring(ms), ms); }) },
      crypto: { getRandomValues: (list) => crypto.getRandomValues(list), subtle: this.counted(crypto.subtle) },
      location: { hash: '', reload: () => undefined },
    };
    const names = Object.keys(doors);
    return new Function(...names, 'globalThis', code)(...names.map((name) => doors[name]), { ...doors, addEventListener: listen });
  }

  /** One step of the phone; at its last one it dies. @param {string} what */
  step(what) {
    if (!this.alive) throw new Error(`dead before: ${what}`);
    this.steps += 1;
    this.lastStep = what;
    if (this.steps < this.dieAt) return;
    this.kill();
    throw new Error(`killed at step ${this.steps}: ${what}`);
  }

  kill() {
    this.alive = false;
    this.clock.timers.clear();
    for (const tx of this.transactions) abort(tx);
    // Else the storage would hold on to this life, and to all that its modules hold.
    for (const db of this.handles) db.close();
    this.handles.clear();
    if (this.phone.sending === this) this.phone.sending = null;
    for (const push of this.phone.flying) if (push.life === this) this.phone.flying.delete(push);
  }

  /** Wait until nothing of this life is under way. */
  async quiet() {
    for (let still = 0, turns = 0; still < STILL_TURNS; still = this.alive && this.underway.size ? 0 : still + 1) {
      turns += 1;
      // A request over a real socket takes its time: nobody waits for it by turning round and round.
      await new Promise((resolve) => (turns < MANY_TURNS ? setImmediate(resolve) : setTimeout(resolve, 1)));
    }
  }

  /** @param {number} ms */
  async pass(ms) {
    await this.quiet();
    await this.clock.pass(ms);
    await this.quiet();
  }

  factory() {
    return {
      open: (name, version) => {
        this.step('open');
        const asked = this.phone.disk.open(name, version);
        this.underway.add(asked);
        asked.addEventListener('success', () => {
          this.underway.delete(asked);
          this.watch(asked.result);
        });
        return asked;
      },
    };
  }

  /** @param {any} db */
  watch(db) {
    if (!this.alive) {
      db.close();
      return;
    }
    this.handles.add(db);
    const begin = db.transaction;
    db.transaction = (...given) => {
      this.step('transaction');
      const tx = begin.apply(db, given);
      this.transactions.add(tx);
      this.underway.add(tx);
      for (const end of ['complete', 'abort']) {
        tx.addEventListener(end, () => {
          this.transactions.delete(tx);
          this.underway.delete(tx);
        });
      }
      const find = tx.objectStore;
      tx.objectStore = (name) => this.storeOf(find.call(tx, name));
      return tx;
    };
  }

  /** @param {any} store */
  storeOf(store) {
    for (const name of ['add', 'put', 'get', 'getAll', 'delete']) {
      store[name] = (...given) => {
        this.step(name);
        return idb.IDBObjectStore.prototype[name].apply(store, given);
      };
    }
    return store;
  }

  /** @param {string} path @param {any} options */
  async fetch(path, { signal, ...options }) {
    this.step('request');
    const request = { life: this, over: false };
    this.underway.add(request);
    if (options.method === 'POST') this.phone.flying.add(request);
    this.phone.most = Math.max(this.phone.most, this.phone.flying.size);
    // Silence and a slow line are not waited for: the clock alone moves them on.
    const wait = (ms) => {
      this.underway.delete(request);
      return new Promise((resolve) => {
        this.clock.later(() => {
          if (!request.over) this.underway.add(request);
          resolve(undefined);
        }, ms);
      });
    };
    const late = signal.then(() => {
      throw new DOMException('signal timed out', 'TimeoutError');
    });
    try {
      const answer = await Promise.race([this.network(path, { ...options, wait }), late]);
      this.step('answer');
      return answer;
    } finally {
      request.over = true;
      this.underway.delete(request);
      this.phone.flying.delete(request);
    }
  }

  /** The Web Lock with `ifAvailable`. @param {(held: any) => Promise<any>} act */
  async lock(act) {
    if (this.phone.sending) return act(null);
    this.phone.sending = this;
    try {
      return await act({});
    } finally {
      if (this.phone.sending === this) this.phone.sending = null;
    }
  }

  /** @param {SubtleCrypto} subtle */
  counted(subtle) {
    return new Proxy(subtle, {
      get: (target, name) => async (...given) => {
        const work = {};
        this.underway.add(work);
        try {
          return await (name === 'digest' ? digest(...given) : target[name](...given));
        } finally {
          this.underway.delete(work);
        }
      },
    });
  }
}

/** The same bytes, some turns later: a thread for each of tens of thousands of them is most of their cost. @param {string} name @param {Uint8Array} bytes @returns {Promise<ArrayBuffer>} */
async function digest(name, bytes) {
  await new Promise((resolve) => setImmediate(resolve));
  return new Uint8Array(createHash(name.replace('-', '')).update(bytes).digest()).buffer;
}

/** What had not been committed is gone, as after a crash. @param {IDBTransaction} tx */
function abort(tx) {
  try {
    tx.abort();
  } catch (error) {
    // It was being committed at that moment: then it is on the disk.
    if (error.name !== 'InvalidStateError') throw error;
  }
}
