/**
 * The desk's picture, read inside the app: the phone's own camera app would open its link in the browser, whose storage
 * may be another than the installed app's. The picture is looked at here and kept nowhere.
 */
/** Longer sides are shrunk: a code that fills a part of the picture is still fine, and memory stays small. */
const LONGEST = 1400;
const LINK = /^(https?:\/\/[^/]+)\/#pair=([A-Za-z0-9_-]{16,100})$/;

/** The picture does not help; the message says what to do. */
export class ScanProblem extends Error {}

/** The pairing's secret. @param {Blob} picture @returns {Promise<string>} @throws {ScanProblem} */
export async function secretIn(picture) {
  return secretOf(await textOf(await pixels(picture)), location.origin);
}

/** @param {string} text that the picture holds @param {string} origin of this app @returns {string} @throws {ScanProblem} */
export function secretOf(text, origin) {
  const found = text.match(LINK);
  if (!found) throw new ScanProblem('This picture is no code of the page "Pair a phone".');
  if (found[1] !== origin) throw new ScanProblem(`This code is for ${found[1]}: open Gelside there, this is ${origin}.`);
  return found[2];
}

/** @param {Blob} picture @returns {Promise<ImageData>} @throws {ScanProblem} */
async function pixels(picture) {
  const bitmap = await opened(picture);
  const scale = Math.min(1, LONGEST / Math.max(bitmap.width, bitmap.height));
  const [width, height] = [Math.max(1, Math.round(bitmap.width * scale)), Math.max(1, Math.round(bitmap.height * scale))];
  const canvas = document.createElement('canvas');
  Object.assign(canvas, { width, height });
  const drawing = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
  drawing.drawImage(bitmap, 0, 0, width, height);
  bitmap.close();
  return drawing.getImageData(0, 0, width, height);
}

/** @param {Blob} picture */
async function opened(picture) {
  try {
    return await createImageBitmap(picture);
  } catch (error) {
    if (!(error instanceof DOMException)) throw error;
    throw new ScanProblem('This file is no picture that can be read here: take one, or type the ten characters.');
  }
}

/** @param {ImageData} image @returns {Promise<string>} @throws {ScanProblem} */
async function textOf({ width, height, data }) {
  const { default: decodeQR } = await import(GELSIDE_QR);
  try {
    return decodeQR({ width, height, data });
  } catch (error) {
    console.info('no code was read', error);
    throw new ScanProblem('No code was found in the picture: closer, straight and sharp, or type the ten characters.');
  }
}
