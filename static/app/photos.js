/**
 * Pictures and clips on the phone, by the SHA-256 of their bytes. The bytes are kept as an ArrayBuffer (never a Blob: some
 * engines lose those) in one strict transaction, sealed where there is a PIN, and checked against their name when read.
 * They go to the practice after the text and leave this phone only once they are there.
 */
import { transaction } from './db.js';
import { hashOf } from './entry.js';
import { isReadable, knows, openBytes, sealBytes, stateOfVault, wakeVault } from './vault.js';

const PHOTOS = 'photos';
const WAITING = 'photos_waiting';

/** @typedef {{hash: string, type: string, size: number, exam: string, own: 1, data?: ArrayBuffer, sealed?: import('./vault.js').Sealed}} PhotoRow */
/** @typedef {{hash: string, type: string, size: number, had: boolean}} Kept `had`: the very same bytes lay here before */
/** @typedef {{id: string, about: string, hash: string, type: string, size?: number, struck: boolean, at: string}} Attachment as an exam holds it */

/** The bytes are not those that were kept: the storage changed them. */
export class PhotoDamaged extends Error {
  constructor() {
    super('This picture can no longer be read from the storage of this phone.');
  }
}

/**
 * Keep bytes; they wait to be sent. @param {ArrayBuffer} data @param {string} type @param {string} exam
 * @returns {Promise<Kept>} @throws {DOMException} QuotaExceededError: nothing was kept
 */
export async function keepPhoto(data, type, exam) {
  const hash = await hashOf(data);
  const row = { hash, type, size: data.byteLength, exam, own: /** @type {1} */ (1) };
  let had = await put(row, data);
  while (had === null) {
    await wakeVault();
    had = await put(row, data);
  }
  return { hash, type, size: data.byteLength, had };
}

/**
 * The same picture taken into two exams is one row, the first exam's, which an attaching that fails must not cost.
 * @param {PhotoRow} row @param {ArrayBuffer} data @returns {Promise<boolean | null>} whether it lay here; null: a PIN came or went meanwhile
 */
async function put(row, data) {
  const kept = stateOfVault() === 'none' ? { ...row, data } : { ...row, sealed: await sealBytes(row.hash, data) };
  return transaction([PHOTOS, WAITING, 'meta'], 'readwrite', async (tx) => {
    if (!knows(await tx.objectStore('meta').get('lock'))) return null;
    const had = await tx.objectStore(PHOTOS).get(row.hash);
    await tx.objectStore(PHOTOS).put(had ? { ...kept, exam: had.exam } : kept);
    await tx.objectStore(WAITING).put(1, row.hash);
    return Boolean(had);
  });
}

/** The entry that names it could not be kept; where the same bytes lay here before, an earlier entry does. @param {Kept} kept */
export async function dropPhoto({ hash, had }) {
  if (had) return;
  await transaction([PHOTOS, WAITING], 'readwrite', async (tx) => {
    await tx.objectStore(PHOTOS).delete(hash);
    await tx.objectStore(WAITING).delete(hash);
  });
}

/** @param {string} hash @returns {Promise<ArrayBuffer | null>} null where it is not on this phone @throws {PhotoDamaged} */
export async function photoBytes(hash) {
  const row = await transaction([PHOTOS], 'readonly', (tx) => tx.objectStore(PHOTOS).get(hash));
  if (!row) return null;
  let data = row.data;
  try {
    data ||= await openBytes(hash, row.sealed);
  } catch (error) {
    if (!(error instanceof DOMException) || error.name !== 'OperationError') throw error;
  }
  if (!data || (await hashOf(data)) !== hash) throw new PhotoDamaged();
  return data;
}

/** As it lies, for a phone whose PIN is not here. @param {string} hash @returns {Promise<import('./vault.js').Sealed | null>} */
export async function sealedPhoto(hash) {
  const row = await transaction([PHOTOS], 'readonly', (tx) => tx.objectStore(PHOTOS).get(hash));
  return row?.sealed || null;
}

/** Hashes of those that the practice does not have yet. @returns {Promise<string[]>} */
export function waitingPhotos() {
  return transaction([WAITING], 'readonly', (tx) => tx.objectStore(WAITING).getAllKeys());
}

/** The practice has it whole. @param {string} hash */
export async function photoArrived(hash) {
  await transaction([WAITING], 'readwrite', (tx) => tx.objectStore(WAITING).delete(hash));
}

/** Another store than before answers: it may have none of them. */
export async function waitForAllPhotos() {
  await transaction([PHOTOS, WAITING], 'readwrite', async (tx) => {
    for (const hash of await tx.objectStore(PHOTOS).getAllKeys()) await tx.objectStore(WAITING).put(1, hash);
  });
}

/** Seal what lies open (a PIN was set just now). */
export async function sealAllPhotos() {
  if (!isReadable()) return;
  for (const hash of await transaction([PHOTOS], 'readonly', (tx) => tx.objectStore(PHOTOS).getAllKeys())) {
    const row = await transaction([PHOTOS], 'readonly', (tx) => tx.objectStore(PHOTOS).get(hash));
    if (!row?.data) continue;
    const { data, ...rest } = row;
    const sealed = await sealBytes(hash, data);
    await transaction([PHOTOS], 'readwrite', (tx) => tx.objectStore(PHOTOS).put({ ...rest, sealed }));
  }
}

/** Those of exams that left this phone go too, unless they wait to be sent. @param {Set<string>} exams still here */
export async function tidyPhotos(exams) {
  await transaction([PHOTOS, WAITING], 'readwrite', async (tx) => {
    const waiting = new Set(await tx.objectStore(WAITING).getAllKeys());
    for (const { hash, exam } of await tx.objectStore(PHOTOS).getAll()) {
      if (!exams.has(exam) && !waiting.has(hash)) await tx.objectStore(PHOTOS).delete(hash);
    }
  });
}
