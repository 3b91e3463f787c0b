/** Entries: canonical bytes, hashes and ids. The text made here is what every side stores and hashes. */

/** @typedef {import('./types').Json} Json */
/** @typedef {import('./types').Header} Header */
/** @typedef {import('./types').Entry} Entry */
/** @typedef {import('./types').Envelope} Envelope */

export const NOTHING_BEFORE = '0'.repeat(64);
export const VERSION = 1;
const LARGEST = 2147483647;

/**
 * Canonical JSON text: sorted ASCII keys, no spaces, lone surrogates replaced.
 * @param {Json} value @returns {string}
 * @throws {TypeError} for a number that is no 32-bit integer, or a key that is not printable ASCII, or holds a quote or a backslash
 */
export function canonical(value) {
  if (value === null || typeof value === 'boolean') return JSON.stringify(value);
  if (typeof value === 'string') return JSON.stringify(wellFormed(value));
  if (typeof value === 'number') return integerText(value);
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  const keys = Object.keys(value).sort();
  return `{${keys.map((key) => `${keyText(key)}:${canonical(value[key])}`).join(',')}}`;
}

/** @param {number} value */
function integerText(value) {
  if (!Number.isInteger(value) || Math.abs(value) > LARGEST) {
    throw new TypeError(`only integers within 32 bits belong in an entry, not ${value}: use a decimal text`);
  }
  return String(value === 0 ? 0 : value);
}

/**
 * No key may need an escape: JSON.parse of V8 13.6 (Node 24) was seen to take a key that is one quote for one backslash.
 * @param {string} key
 */
function keyText(key) {
  if (!/^[\x20\x21\x23-\x5b\x5d-\x7e]*$/.test(key)) throw new TypeError(`the key "${key}" is not printable ASCII without quote and backslash`);
  return JSON.stringify(key);
}

/** Lone surrogates have no UTF-8 bytes, so they become U+FFFD. @param {string} text */
export function wellFormed(text) {
  return text.replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, '\ufffd');
}

/** Lower-case hex SHA-256 of a text's UTF-8 bytes. @param {string} text @returns {Promise<string>} */
export function sha256(text) {
  return hashOf(new TextEncoder().encode(text));
}

/** The same of bytes. @param {BufferSource} bytes @returns {Promise<string>} */
export async function hashOf(bytes) {
  return hex(new Uint8Array(await crypto.subtle.digest('SHA-256', bytes)));
}

/** @param {Uint8Array} bytes */
function hex(bytes) {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** A random device id: 32 hex digits. */
export function newDeviceId() {
  return hex(crypto.getRandomValues(new Uint8Array(16)));
}

/** A UUID version 7 (time-ordered). @param {number} [now] milliseconds since 1970 */
export function uuid7(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let rest = now;
  for (let i = 5; i >= 0; i -= 1) {
    bytes[i] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const text = hex(bytes);
  return [text.slice(0, 8), text.slice(8, 12), text.slice(12, 16), text.slice(16, 20), text.slice(20)].join('-');
}

/** The exam of a planned visit: whoever begins it, on whatever phone, begins the same one. @param {string} visit @returns {Promise<string>} a UUID version 8 */
export async function examOfVisit(visit) {
  const text = await sha256(`exam of visit ${visit}`);
  const variant = ((parseInt(text[16], 16) & 3) | 8).toString(16);
  return [text.slice(0, 8), text.slice(8, 12), `8${text.slice(13, 16)}`, `${variant}${text.slice(17, 20)}`, text.slice(20, 32)].join('-');
}

/** Local date "2026-11-24". @param {Date} [now] */
export function localDate(now = new Date()) {
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** Local time with its offset: "2026-11-24T10:41:03+01:00". @param {Date} [now] */
export function localTime(now = new Date()) {
  const offset = -now.getTimezoneOffset();
  const clock = `${two(now.getHours())}:${two(now.getMinutes())}:${two(now.getSeconds())}`;
  const zone = `${offset < 0 ? '-' : '+'}${two(Math.floor(Math.abs(offset) / 60))}:${two(Math.abs(offset) % 60)}`;
  return `${localDate(now)}T${clock}${zone}`;
}

/** @param {number} number */
function two(number) {
  return String(number).padStart(2, '0');
}

/**
 * Seal a draft into an envelope that follows `last` of this device.
 * @param {import('./types').Draft} draft
 * @param {{device: string, seq: number, prev: string}} last @param {string} at
 * @returns {Promise<{envelope: Envelope, entry: Entry}>}
 */
export async function seal(draft, last, at) {
  const body = canonical(draft.body);
  /** @type {Header} */
  const header = {
    v: VERSION,
    device: last.device,
    seq: last.seq + 1,
    prev: last.prev,
    exam: draft.exam,
    patient: draft.patient,
    author: wellFormed(draft.author),
    behalf: draft.behalf,
    at,
    kind: draft.kind,
    after: draft.after,
    of: draft.of,
    body_hash: await sha256(body),
  };
  const text = canonical(/** @type {any} */ (header));
  const envelope = { header: text, body };
  // As it will be read again: what the canonical text replaced is replaced here too.
  return { envelope, entry: entryOf(await sha256(text), envelope) };
}

/**
 * Open a stored or received envelope. `damaged` says that the body is not the one that was sealed.
 * @param {Envelope} envelope @returns {Promise<{entry: Entry, damaged: boolean}>}
 * @throws {SyntaxError} when the header or body is no JSON
 */
export async function open(envelope) {
  const entry = entryOf(await sha256(envelope.header), envelope);
  return { entry, damaged: (await sha256(envelope.body)) !== entry.body_hash };
}

/**
 * The entry that an envelope holds, whose id is known. @param {string} id @param {Envelope} envelope @returns {Entry}
 * @throws {SyntaxError} when the header or body is no JSON
 */
export function entryOf(id, { header, body }) {
  // Not by spreading: each entry would get a shape of its own, and thousands of them twice the memory.
  return Object.assign(JSON.parse(header), { id, body: JSON.parse(body) });
}
