/** Talking to the practice: requests with a time limit, and answers that are believed only when they parse. */

export const PROTOCOL = 1;
export const LIMIT_MS = 20000;
/** A wait longer than this is not believed: some networks write what they like, and a person would call it stuck. */
const LONGEST_WAIT_MS = 15 * 60000;
const STATUSES = new Set(['stored', 'duplicate', 'stored_unreadable', 'stored_out_of_chain']);

/** @typedef {'offline' | 'refused' | 'busy' | 'strange' | 'not_taken' | 'too_large'} What */

/**
 * offline: nobody answered. strange: someone else answered, or something unreadable. busy: the practice asks to wait.
 * refused: it does not take this phone. not_taken, too_large: it does not take this batch. Nothing is stored in any case.
 */
export class WireProblem extends Error {
  /** @param {What} what @param {string} message @param {string} [code] @param {number} [retryAfterMs] */
  constructor(what, message, code = what, retryAfterMs = 0) {
    super(message);
    this.what = what;
    this.code = code;
    this.retryAfterMs = retryAfterMs;
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
 * @param {number} [limitMs] until the whole answer must be here
 * @returns {Promise<any>} the parsed answer of a 200
 * @throws {WireProblem}
 */
export async function request(path, token, body, more = {}, limitMs = LIMIT_MS) {
  const answer = await reach(path, token, body, more, limitMs);
  const text = await textOf(answer);
  if (answer.status === 200) {
    const parsed = parsedOrNull(text);
    if (parsed === null) throw stranger();
    return parsed;
  }
  throw problemOf(answer, text);
}

/** @param {Response} answer */
async function textOf(answer) {
  try {
    return await answer.text();
  } catch (error) {
    throw new WireProblem('offline', `The answer broke off (${error instanceof Error ? error.message : error}): kept here, tried again.`);
  }
}

/** @param {string} text @returns {any} null for a text that is no JSON */
function parsedOrNull(text) {
  try {
    return JSON.parse(text);
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw error;
  }
}

/** A sign-in page of some network, a proxy, another server. */
function stranger() {
  return new WireProblem('strange', 'Something else than the practice answered (a Wi-Fi sign-in page?): kept here, tried again.');
}

/**
 * What an answer other than 200 means; only the practice's own error sentence can refuse. Too large is believed of
 * anyone on the way: a smaller batch does no harm.
 * @param {Response} answer @param {string} text
 */
function problemOf(answer, text) {
  const { status } = answer;
  const said = parsedOrNull(text)?.error;
  const own = said && typeof said === 'object';
  const words = own && typeof said.message === 'string' ? said.message : null;
  const code = own && typeof said.code === 'string' ? said.code : undefined;
  if (status === 429 || status >= 500) {
    return new WireProblem('busy', words || `The practice's server answered ${status}: kept here, tried again.`, code || `status_${status}`, retryAfter(answer));
  }
  if (status === 413) return new WireProblem('too_large', words || 'The batch is too large for the practice.', 'too_large');
  if (!own) return stranger();
  if (status === 401 || status === 403) {
    return new WireProblem('refused', words || 'The practice does not know this phone (any more): connect it again.', code || 'unknown_phone');
  }
  return new WireProblem('not_taken', `The practice did not take it (${words || status}): kept here. Give a copy to the desk.`, 'not_taken');
}

/** Seconds, as the practice writes them; anything else asks for nothing. @param {Response} answer */
function retryAfter(answer) {
  const seconds = answer.headers.get('Retry-After') || '';
  return /^[0-9]{1,9}$/.test(seconds) ? Math.min(Number(seconds) * 1000, LONGEST_WAIT_MS) : 0;
}

/**
 * Ask about bytes (HEAD) or bring some (PUT). @param {string} path @param {string} token @param {BufferSource & {byteLength: number}} [bytes]
 * @param {Record<string, string>} [more] @returns {Promise<{headers: Headers, answer: any}>} of a 200, 201, 202 or 409 @throws {WireProblem}
 */
export async function bring(path, token, bytes, more = {}) {
  const limit = LIMIT_MS + (bytes ? bytes.byteLength / SLOWEST_BYTES_PER_MS : 0);
  const answer = await reach(path, token, undefined, more, limit, bytes ? { method: 'PUT', body: bytes } : { method: 'HEAD' });
  const text = await textOf(answer);
  if ([200, 201, 202, 409].includes(answer.status)) return { headers: answer.headers, answer: parsedOrNull(text) };
  throw problemOf(answer, text);
}

/** Below this pace no line is worth waiting for. */
export const SLOWEST_BYTES_PER_MS = 2;

/**
 * @param {string} path @param {string | null} token @param {any} body @param {Record<string, string>} more @param {number} limitMs
 * @param {RequestInit} [plain] instead of JSON
 */
async function reach(path, token, body, more, limitMs, plain) {
  /** @type {Record<string, string>} */
  const headers = { Accept: 'application/json', ...more };
  const told = token ? report() : null;
  if (told) headers['X-Gelside-Report'] = JSON.stringify(told);
  if (token) headers.Authorization = `Bearer ${token}`;
  if (body !== undefined) headers['Content-Type'] = 'application/json';
  try {
    return await fetch(path, {
      method: body === undefined ? 'GET' : 'POST',
      body: body === undefined ? undefined : JSON.stringify(body),
      ...plain,
      headers,
      cache: 'no-store',
      // A redirect is never followed: it is some network's sign-in page, and shows as an answer of its own kind.
      redirect: 'manual',
      credentials: 'omit',
      signal: AbortSignal.timeout(limitMs),
    });
  } catch (error) {
    throw new WireProblem('offline', `The practice is out of reach (${error instanceof Error ? error.message : error}).`);
  }
}

/**
 * The acknowledgement of a push, or an error: anything that does not parse marks nothing as sent.
 * @param {any} answer @param {string} device @param {string[]} ids that were sent
 * @returns {import('./types').Acknowledged}
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
  return {
    store_id: answer.store_id, device, through: answer.through, held: answer.held, acknowledged,
    revoked: answer.revoked === true, clone: answer.clone === true, branch: typeof answer.branch === 'string' ? answer.branch : '',
  };
}

/**
 * A page of what the practice holds for this phone.
 * @param {any} answer
 * @returns {{store_id: string, scope: string, entries: import('./types').Envelope[], ahead?: import('./types').Envelope[], next: number, more: boolean, practice?: string}}
 */
export function page(answer) {
  const sound =
    answer && answer.protocol === PROTOCOL && typeof answer.store_id === 'string' && typeof answer.scope === 'string' &&
    Array.isArray(answer.entries) && Number.isInteger(answer.next) && typeof answer.more === 'boolean' &&
    (answer.ahead === undefined || Array.isArray(answer.ahead)) &&
    [...answer.entries, ...(answer.ahead || [])].every((one) => one && typeof one.header === 'string' && typeof one.body === 'string');
  if (!sound) throw new WireProblem('strange', 'The list from the practice could not be read.');
  return answer;
}

/**
 * Cut pending rows into one batch within the protocol's limits.
 * @template {{header: string, body: string, id: string}} T @param {T[]} rows @param {number} [most] @param {number} [bytes]
 */
export function batch(rows, most = 1000, bytes = 512 * 1024) {
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
