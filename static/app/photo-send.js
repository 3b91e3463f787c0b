/** Bringing pictures and clips to the practice, after the text: one by one, each going on where the line was cut. */
import { PhotoDamaged, photoArrived, photoBytes, sealedPhoto, waitingPhotos } from './photos.js';
import { base64, isReadable, serverWrapped } from './vault.js';
import { WireProblem, bring } from './wire.js';

const PIECE = 512 * 1024;
/** What a photo alone is to blame for: the others go on, and this one waits in its place. */
const ITS_OWN = ['not_taken', 'too_large'];

/**
 * On a locked phone they go as they lie sealed: the practice holds the other key.
 * @param {string} token @param {(left: number, trouble?: string) => void} told how many wait, and what keeps one of them
 * @throws {WireProblem} what concerns all: no network, busy, refused
 */
export async function pushPhotos(token, told) {
  const waiting = await waitingPhotos();
  let trouble = '';
  let left = waiting.length;
  for (const hash of waiting) {
    try {
      await (isReadable() ? sendOpen(token, hash) : sendSealed(token, hash));
      await photoArrived(hash);
      left -= 1;
    } catch (error) {
      const own = error instanceof PhotoDamaged || (error instanceof WireProblem && ITS_OWN.includes(error.what));
      if (!own) throw error;
      trouble = /** @type {Error} */ (error).message;
    }
    told(left, trouble);
  }
}

/** @param {string} token @param {string} hash */
async function sendOpen(token, hash) {
  const data = await photoBytes(hash);
  if (!data) return;
  const path = pathOf(hash);
  const { headers } = await bring(path, token);
  if (headers.get('X-Gelside-Complete') === 'yes') return;
  let held = whole(headers.get('X-Gelside-Held'));
  // Another line may have brought more, or the practice lost some; it never goes round for ever.
  for (let tries = 2 * Math.ceil(data.byteLength / PIECE) + 4; tries > 0 && held < data.byteLength; tries -= 1) {
    const end = Math.min(data.byteLength, held + PIECE);
    const { answer } = await bring(path, token, data.slice(held, end), { 'Content-Range': `bytes ${held}-${end - 1}/${data.byteLength}` });
    if (isTaken(answer, hash)) return;
    held = whole(answer?.error ? answer.error.held : answer?.held);
  }
  throw unsure();
}

/** @param {string} token @param {string} hash */
async function sendSealed(token, hash) {
  const sealed = await sealedPhoto(hash);
  if (!sealed) return;
  const how = `${base64(sealed.iv)} ${serverWrapped()}`;
  const { answer } = await bring(pathOf(hash), token, sealed.data, { 'X-Gelside-Sealed': how });
  if (!isTaken(answer, hash)) throw unsure();
}

/** @param {string} hash */
function pathOf(hash) {
  return `/api/photo/${hash}`;
}

/** @param {any} answer @param {string} hash */
function isTaken(answer, hash) {
  return answer?.complete === true && answer.hash === hash;
}

function unsure() {
  return new WireProblem('strange', 'The practice did not say that it has the picture: kept here, tried again.');
}

/** @param {unknown} told @throws {WireProblem} */
function whole(told) {
  const number = Number(told);
  if (told === null || told === '' || !Number.isInteger(number) || number < 0) throw unsure();
  return number;
}
