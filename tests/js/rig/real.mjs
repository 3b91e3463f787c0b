/** The practice's own server (tests/sync_laws/forking.py) behind a line that a test can cut, and what may befall a request. */
import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import http from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

const ROOT = fileURLToPath(new URL('../../../', import.meta.url));
/**
 * In memory where the system has a place for that: the server commits as ever, but its waits for a disk, which are nothing
 * that a death by SIGKILL could lose, cost no time. (That it does wait is shown in tests/sync_laws/test_crashes.py.)
 */
const IN_MEMORY = '/dev/shm';
const PLACE = existsSync(IN_MEMORY) ? IN_MEMORY : tmpdir();

export class RealPractice {
  constructor() {
    this.folder = mkdtempSync(join(PLACE, 'gelside-monkey-'));
    this.process = spawn(join(ROOT, '.venv/bin/python'), ['-m', 'tests.sync_laws.forking', this.folder], { cwd: ROOT, stdio: ['pipe', 'pipe', 'inherit'] });
    this.lines = createInterface({ input: this.process.stdout })[Symbol.asyncIterator]();
    this.agent = new http.Agent({ keepAlive: true });
    this.pid = 0;
    this.port = 0;
    this.requests = 0;
    /** Milliseconds after a push left at which the server dies, once. @type {number | null} */
    this.dieIn = null;
  }

  /** @param {string} what @param {any} [how] @returns {Promise<any>} */
  async do(what, how = {}) {
    this.process.stdin.write(`${JSON.stringify({ do: what, ...how })}\n`);
    const { value, done } = await this.lines.next();
    if (done) throw new Error(`the practice's process ended over "${what}"`);
    return JSON.parse(value);
  }

  get alive() {
    return this.pid > 0;
  }

  /** @param {string[]} [lacks] */
  async start(lacks = []) {
    const { pid, port } = await this.do('start', { lacks });
    if (!port) throw new Error('the server did not start');
    Object.assign(this, { pid, port });
  }

  async kill() {
    this.pid = 0;
    this.agent.destroy();
    this.agent = new http.Agent({ keepAlive: true });
    await this.do('kill');
  }

  /** One request over the socket, as `fetch` would give it. @param {string} path @param {any} options @returns {Promise<Response>} */
  request(path, { method = 'GET', headers = {}, body }) {
    this.requests += 1;
    if (!this.alive) return Promise.reject(new TypeError('Failed to fetch'));
    return new Promise((resolve, reject) => {
      const failed = () => reject(new TypeError('Failed to fetch'));
      const asked = http.request({ host: '127.0.0.1', port: this.port, path, method, headers: { ...headers, 'Content-Length': Buffer.byteLength(body || '') }, agent: this.agent }, (answer) => {
        const parts = [];
        answer.on('data', (part) => parts.push(part));
        answer.on('error', failed);
        answer.on('aborted', failed);
        answer.on('end', () => resolve(new Response(Buffer.concat(parts), { status: answer.statusCode, headers: /** @type {any} */ (answer.headers) })));
      });
      asked.on('error', failed);
      asked.end(body);
      if (this.dieIn === null || method !== 'POST') return;
      const { pid } = this;
      setTimeout(() => process.kill(pid, 'SIGKILL'), this.dieIn);
      this.dieIn = null;
      this.pid = 0;
    });
  }

  async end() {
    await this.kill();
    this.process.stdin.end();
    await new Promise((resolve) => this.process.on('exit', resolve));
    rmSync(this.folder, { recursive: true });
  }
}

/**
 * What may befall one request on its way; those that reach the practice leave their mark there.
 * @type {Record<string, (reach: () => Promise<Response>, options: any) => Promise<Response>>}
 */
export const MISHAPS = {
  'lost request': async () => { throw new TypeError('Failed to fetch'); },
  'lost answer': async (reach) => { await reach(); throw new TypeError('Failed to fetch'); },
  repeated: async (reach) => { await reach(); return reach(); },
  'truncated answer': async (reach) => { const answer = await reach(); return new Response((await answer.text()).slice(0, -9), { status: answer.status }); },
  'sign-in page': async () => new Response('<!doctype html>please accept', { status: 200 }),
  'silence after it came': async (reach, options) => { await reach(); return options.wait(Infinity); },
  silence: async (_reach, options) => options.wait(Infinity),
};
