/** Talking to the practice: requests with a time limit, and answers that are believed only when they parse. */

export const PROTOCOL = 1;
const LIMIT_MS = 20000;
const STATUSES = new Set(['stored', 'duplicate', 'stored_unreadable', 'stored_out_of_chain']);

export class WireProblem extends Error {
  /** @param {'offline' | 'refused' | 'busy' | 'strange'} what @param {string} message */
  constructor(what, message) {
    super(message);
    this.what = what;
  }
}

/** What the practice may know of this phone's state, sent along with each request. @type {() => any} */
let report = () => null;

/** @param {() => any} maker returns a small JSON object, or null */
export function onReport(maker) {
  report = maker;
}

/**
 * @param {string} path @param {string | null} token @param {any} [body] posts JSON when given
 * @param {Record<string, string>} [more] further headers
 * @returns {Promise<any>} the parsed answer of a 200
 * @throws {WireProblem}
 */
export async function request(path, token, body, more = {}) {
  const answer = await reach(path, token, body, more);
  if (answer.status === 401 || answer.status === 403) {
    const said = await saidBy(answer);
    throw new WireProblem('refused', said || 'The practice does not know this phone (any more): connect it again.');
  }
  if (answer.status === 429) throw new WireProblem('busy', (await saidBy(answer)) || 'Too many tries: wait a minute.');
  if (answer.status !== 200) throw new WireProblem('busy', `The practice's server answered ${answer.status}: kept here, tried again.`);
  try {
    return JSON.parse(await answer.text());
  } catch (error) {
    if (error instanceof SyntaxError) {
      throw new WireProblem('strange', 'Something else than the practice answered (a Wi-Fi sign-in page?): kept here, tried again.');
    }
    throw new WireProblem('offline', 'The answer broke off: kept here, tried again.');
  }
}

/** The sentence of the practice's own error answer, if it is one. @param {Response} answer @returns {Promise<string | null>} */
async function saidBy(answer) {
  const text = await answer.text();
  try {
    const { error } = JSON.parse(text);
    return typeof error?.message === 'string' ? error.message : null;
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw error;
  }
}

/** @param {string} path @param {string | null} token @param {any} body @param {Record<string, string>} more */
async function reach(path, token, body, more) {
  /** @type {Record<string, string>} */
  const headers = { Accept: 'application/json', ...more };
  const told = token ? report() : null;
  if (told) headers['X-Gelside-Report'] = JSON.stringify(told);
  if (token) headers.Authorization = `Bearer ${token}`;
  if (body !== undefined) headers['Content-Type'] = 'application/json';
  try {
    return await fetch(path, {
      method: body === undefined ? 'GET' : 'POST',
      headers,
      body: body === undefined ? undefined : JSON.stringify(body),
      cache: 'no-store',
      redirect: 'error',
      credentials: 'omit',
      signal: AbortSignal.timeout(LIMIT_MS),
    });
  } catch (error) {
    throw new WireProblem('offline', `The practice is out of reach (${error instanceof Error ? error.message : error}).`);
  }
}

/**
 * The acknowledgement of a push, or an error: anything that does not parse marks nothing as sent.
 * @param {any} answer @param {string} device @param {string[]} ids that were sent
 * @returns {{store_id: string, through: number, held: number, acknowledged: string[], revoked: boolean}}
 */
export function acknowledgement(answer, device, ids) {
  const sound =
    answer && answer.protocol === PROTOCOL && answer.device === device && typeof answer.store_id === 'string' &&
    Number.isInteger(answer.through) && Number.isInteger(answer.held) && Array.isArray(answer.results);
  if (!sound) throw new WireProblem('strange', 'The answer was no receipt: nothing is marked as sent.');
  const sent = new Set(ids);
  const acknowledged = answer.results
    .filter((/** @type {any} */ one) => one && sent.has(one.id) && STATUSES.has(one.status))
    .map((/** @type {any} */ one) => one.id);
  return { store_id: answer.store_id, through: answer.through, held: answer.held, acknowledged, revoked: answer.revoked === true };
}

/**
 * A page of what the practice holds for this phone.
 * @param {any} answer
 * @returns {{store_id: string, scope: string, entries: import('./types').Envelope[], next: number, more: boolean}}
 */
export function page(answer) {
  const sound =
    answer && answer.protocol === PROTOCOL && typeof answer.store_id === 'string' && typeof answer.scope === 'string' &&
    Array.isArray(answer.entries) && Number.isInteger(answer.next) && typeof answer.more === 'boolean' &&
    answer.entries.every((/** @type {any} */ one) => typeof one.header === 'string' && typeof one.body === 'string');
  if (!sound) throw new WireProblem('strange', 'The list from the practice could not be read.');
  return answer;
}

/**
 * Cut pending rows into one batch within the protocol's limits.
 * @template {{header: string, body: string, id: string}} T @param {T[]} rows @param {number} [most] @param {number} [bytes]
 */
export function batch(rows, most = 200, bytes = 512 * 1024) {
  const room = bytes - 1024;
  /** @type {T[]} */
  const taken = [];
  let size = 0;
  for (const row of rows) {
    const one = new TextEncoder().encode(JSON.stringify({ header: row.header, body: row.body })).length + 1;
    if (taken.length && (taken.length >= most || size + one > room)) break;
    taken.push(row);
    size += one;
  }
  return taken;
}

/** Wait before the next try: 2 s doubling to 5 min, with jitter. @param {number} failures @param {number} [random] 0 to 1 */
export function pause(failures, random = Math.random()) {
  const full = Math.min(300000, 2000 * 2 ** Math.max(0, failures - 1));
  return Math.round(full * (0.5 + random / 2));
}
