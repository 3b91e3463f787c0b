/** Bringing what waits to the practice: used by the page and by the service worker, so it knows no screen. */
import { deviceState, markSent, pendingRows, sendAgainFrom, sendAllAgain, takeNewName } from './journal.js';
import { getMeta, setMeta } from './db.js';
import { envelopeOf } from './shelf.js';
import { base64 } from './vault.js';
import { PROTOCOL, WireProblem, acknowledgement, batch, request } from './wire.js';

export const MOST = 200;

/** @typedef {import('./types').Acknowledged} Acknowledged */
/** @typedef {import('./types').Row} Row */

/**
 * Send until nothing waits. @param {string} token @param {(number: number) => void} onBatch before each batch
 * @param {(receipt: Acknowledged) => Promise<void>} onReceipt after each is kept
 */
export async function pushAll(token, onBatch, onReceipt) {
  let most = MOST;
  for (let number = 1; ; number += 1) {
    const rows = sameDevice(await pendingRows(MOST)).slice(0, most);
    if (!rows.length) return;
    onBatch(number);
    try {
      await onReceipt(await pushRows(token, rows));
    } catch (error) {
      if (!(error instanceof WireProblem) || error.what !== 'too_large') throw error;
      if (rows.length === 1) {
        throw new WireProblem('too_large', 'One entry is too large for the practice: it is kept here. Give a copy to the desk.', 'too_large');
      }
      most = Math.ceil(rows.length / 2);
    }
  }
}

/** Rows of one name of this phone, the first one's. @param {Row[]} rows */
function sameDevice(rows) {
  return rows.filter((row) => row.device === rows[0].device);
}

/** @param {string} token @param {Row[]} rows of one device @returns {Promise<Acknowledged>} */
async function pushRows(token, rows) {
  const { device } = rows[0];
  const opened = await Promise.all(rows.map(async (row) => ({ id: row.id, ...(await envelopeOf(row)) })));
  const part = batch(opened);
  const entries = part.map(({ header, body }) => ({ header, body }));
  const answer = await request('/api/journal', token, { protocol: PROTOCOL, device, entries });
  return keep(acknowledgement(answer, device, part.map((row) => row.id)), part.length);
}

/** Nothing to send, but what does the practice hold? @param {string} token @returns {Promise<Acknowledged>} */
export async function askReceipt(token) {
  const { device } = await deviceState();
  const answer = await request('/api/journal', token, { protocol: PROTOCOL, device, entries: [] });
  return keep(acknowledgement(answer, device, []), 0);
}

/**
 * What lies sealed goes as it is; the practice holds the other key.
 * @param {string} token @param {string} wrapped_key the data key as the practice can open it
 * @param {(receipt: Acknowledged) => Promise<void>} onReceipt
 */
export async function pushSealed(token, wrapped_key, onReceipt) {
  for (;;) {
    const rows = await pendingRows(100);
    if (!rows.length) return;
    const own = sameDevice(rows).filter((row) => row.sealed);
    if (!own.length) {
      // The PIN was set and sealing was interrupted: these still lie open.
      await onReceipt(await pushRows(token, sameDevice(rows)));
      continue;
    }
    const sealed = own.map((row) => ({
      id: row.id, iv: base64(row.sealed?.iv || new Uint8Array()), data: base64(row.sealed?.data || new Uint8Array()),
    }));
    const { device } = own[0];
    const answer = await request('/api/journal/sealed', token, { protocol: PROTOCOL, device, wrapped_key, sealed });
    await onReceipt(await keep(acknowledgement(answer, device, own.map((row) => row.id)), own.length));
  }
}

/** Take the receipt's word, and draw from it what has to be sent again. @param {Acknowledged} receipt @param {number} sent */
async function keep(receipt, sent) {
  const [before, { device }] = await Promise.all([getMeta('receipt'), deviceState()]);
  const { store_id, through, held } = receipt;
  const current = receipt.device === device;
  await storeIs(store_id);
  await markSent(receipt.acknowledged, current ? { store_id, device, through, held, at: new Date().toISOString() } : null);
  const wentBack = before && before.device === device && before.store_id === store_id && through < before.through;
  if (current && wentBack) await sendAgainFrom(through);
  if (current && receipt.clone) await takeNewName(device, receipt.branch);
  if (sent && !receipt.acknowledged.length) {
    throw new WireProblem('strange', 'The practice acknowledged none of the entries: kept here, tried again.');
  }
  return receipt;
}

/** A store that never gave a receipt gets everything; one that was restored has a new id. @param {string} storeId */
export async function storeIs(storeId) {
  const known = (await getMeta('store')) || (await getMeta('receipt'))?.store_id;
  if (known && known !== storeId) {
    await sendAllAgain();
    await setMeta('receipt', null);
  }
  if (known !== storeId) await setMeta('store', storeId);
}
