/**
 * A practice that speaks the written protocol (webapp/sync/protocol.py) from memory, and everything that can stand
 * between it and a phone. tests/sync_laws shows that the real server keeps the same protocol.
 */
import { createHash } from 'node:crypto';

const sha256 = (text) => createHash('sha256').update(text).digest('hex');

export class Practice {
  constructor() {
    this.store = 'store-1';
    this.stores = 1;
    /** @type {Map<string, {header: string, body: string, arrival: number, device: string, seq: number}>} */
    this.entries = new Map();
    this.pushes = 0;
    this.known = true;
  }

  /** @param {string} device @returns {any[]} by seq */
  of(device) {
    return [...this.entries.values()].filter((entry) => entry.device === device).sort((a, b) => a.seq - b.seq);
  }

  /** @param {string} path @param {any} options @returns {Response} */
  answer(path, options) {
    if (!this.known) return error(401, 'unknown_phone');
    if (path.startsWith('/api/practice')) return json({ practice: 'Test', people: [], phone: 'p', store_id: this.store });
    if (path.startsWith('/api/journal') && options.method === 'GET') return this.pull(path);
    if (path === '/api/journal') return this.push(JSON.parse(options.body));
    return error(404, 'no_such_address');
  }

  /** @param {string} path */
  pull(path) {
    const since = Number(new URL(path, 'http://x').searchParams.get('since'));
    const limit = Number(new URL(path, 'http://x').searchParams.get('limit'));
    const all = [...this.entries.values()].filter((entry) => entry.arrival > since);
    const part = all.slice(0, limit);
    const next = part.length ? part[part.length - 1].arrival : since;
    return json({ protocol: 1, store_id: this.store, scope: 'all', entries: part.map(({ arrival, header, body }) => ({ arrival, header, body })), next, more: part.length < all.length });
  }

  /** @param {any} push */
  push({ protocol, device, entries }) {
    if (protocol !== 1 || entries.length > 1000) return error(413, 'too_large');
    if (entries.reduce((sum, one) => sum + Buffer.byteLength(one.header + one.body), 0) > 512 * 1024) return error(413, 'too_large');
    if (entries.length) this.pushes += 1;
    const results = entries.map(({ header, body }) => {
      const id = sha256(header);
      if (this.entries.has(id)) return { id, status: 'duplicate' };
      const { device: writer, seq, v } = JSON.parse(header);
      this.entries.set(id, { header, body, arrival: this.entries.size + 1, device: writer, seq });
      return { id, status: v === 1 ? 'stored' : 'stored_unreadable' };
    });
    const held = this.of(device);
    let through = 0;
    while (held[through] && held[through].seq === through + 1) through += 1;
    return json({ protocol: 1, store_id: this.store, device, results, through, held: held.length, revoked: false, clone: false });
  }

  /** Keep a copy of everything. @returns {Map<string, any>} */
  copy() {
    return new Map(this.entries);
  }

  /** @param {Map<string, any>} copy @param {boolean} told a restore makes a new store; a file put back by hand does not */
  restore(copy, told) {
    this.entries = new Map(copy);
    if (told) {
      this.stores += 1;
      this.store = `store-${this.stores}`;
    }
  }
}

/** @param {any} value @param {number} [status] @param {Record<string, string>} [headers] */
export function json(value, status = 200, headers = {}) {
  return new Response(JSON.stringify(value), { status, headers: { 'Content-Type': 'application/json', ...headers } });
}

/** @param {number} status @param {string} code @param {Record<string, string>} [headers] */
export function error(status, code, headers = {}) {
  return json({ error: { code, message: `words of ${code}` } }, status, headers);
}

const html = (status, words, headers = {}) => new Response(`<!doctype html><p>${words}`, { status, headers: { 'Content-Type': 'text/html', ...headers } });

/**
 * What may happen to one request. Each gets the way to the practice and gives the answer that the phone sees; those
 * of `after` have reached the practice all the same.
 * @type {Record<string, (reach: () => Response, options: any) => Promise<Response>>}
 */
export const FAULTS = {
  'lost request': async () => { throw new TypeError('Failed to fetch'); },
  'lost answer': async (reach) => { reach(); throw new TypeError('Failed to fetch'); },
  'answer breaks off': async (reach) => { reach(); return new Response(new ReadableStream({ start: (stream) => stream.error(new TypeError('network error')) })); },
  'truncated answer': async (reach) => new Response((await reach().text()).slice(0, -9)),
  'empty answer': async (reach) => { reach(); return new Response(''); },
  'sign-in page': async () => html(200, 'please accept'),
  redirect: async () => html(302, '', { Location: '/sign-in' }),
  'hidden redirect': async () => /** @type {any} */ ({ status: 0, type: 'opaqueredirect', headers: new Headers(), text: async () => '' }),
  "somebody else's JSON": async () => json({ ok: true }),
  'receipt of another device': async () => json({ protocol: 1, store_id: 'store-1', device: 'f'.repeat(32), through: 9, held: 9, results: [] }),
  silence: async (_reach, options) => options.wait(Infinity),
  'silence after it was stored': async (reach, options) => { reach(); return options.wait(Infinity); },
  401: async () => error(401, 'unknown_phone'),
  403: async () => error(403, 'to_approve'),
  409: async () => error(409, 'conflict'),
  413: async () => error(413, 'too_large'),
  422: async () => error(422, 'not_opened'),
  429: async () => error(429, 'too_many', { 'Retry-After': '120' }),
  500: async () => html(500, 'oops'),
  502: async () => html(502, 'bad gateway'),
  503: async () => error(503, 'busy', { 'Retry-After': '2' }),
  507: async () => error(507, 'disk_full'),
};

/**
 * The way between a phone and its practice. `fault` names what happens to the next request, or null.
 * @param {Practice} practice
 */
export function network(practice) {
  const way = {
    /** @type {() => string | null} */
    fault: () => null,
    /** @type {{path: string, method: string, fault: string | null}[]} */
    seen: [],
    /** @param {string} path @param {any} options */
    async go(path, options) {
      const fault = way.fault();
      way.seen.push({ path, method: options.method, fault });
      await new Promise((resolve) => setImmediate(resolve));
      const reach = () => practice.answer(path, options);
      return fault ? FAULTS[fault](reach, options) : reach();
    },
  };
  return way;
}
