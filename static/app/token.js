/**
 * The token that proves this phone to the practice lies wrapped by a key that this browser can use and no script can
 * read out: a copy of the stored values alone does not speak for the phone.
 */
import { transaction } from './db.js';

/** @typedef {{iv: Uint8Array<ArrayBuffer>, data: ArrayBuffer}} Wrapped */

/** Wrap a token; what is to be put into `meta`, by key. @param {string} token @returns {Promise<{token: Wrapped, token_key: CryptoKey}>} */
export async function wrapped(token) {
  const key = await crypto.subtle.generateKey({ name: 'AES-GCM', length: 256 }, false, ['encrypt', 'decrypt']);
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const data = await crypto.subtle.encrypt({ name: 'AES-GCM', iv }, key, new TextEncoder().encode(token));
  return { token: { iv, data }, token_key: key };
}

/** The token, or null on a phone that belongs to no practice. @returns {Promise<string | null>} */
export async function readToken() {
  const { kept, key } = await transaction(['meta'], 'readonly', async (tx) => {
    const meta = tx.objectStore('meta');
    return { kept: await meta.get('token'), key: await meta.get('token_key') };
  });
  if (!kept) return null;
  // Earlier versions kept it in the clear.
  if (typeof kept === 'string') {
    await keepToken(kept);
    return kept;
  }
  const plain = await crypto.subtle.decrypt({ name: 'AES-GCM', iv: kept.iv }, key, kept.data);
  return new TextDecoder().decode(plain);
}

/**
 * Another practice, or the same one anew: reading starts from the beginning, and no old word of the desk holds.
 * @param {string} token @param {Record<string, any>} [more] further values of `meta` that belong to it
 */
export async function keepToken(token, more = {}) {
  const values = { ...more, ...(await wrapped(token)) };
  await transaction(['meta'], 'readwrite', async (tx) => {
    const meta = tx.objectStore('meta');
    for (const [key, value] of Object.entries(values)) await meta.put(value, key);
  });
}
