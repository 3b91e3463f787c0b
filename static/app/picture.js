/** A picture of the machine's screen or a label: made small, and drawn anew so that place and device data stay behind. */

const LONGEST = 1600;
/** The practice takes a sealed picture in one piece of 2 MB. */
const MOST_BYTES = 1800000;
const QUALITIES = [0.85, 0.7, 0.5];

/** The file cannot be used; the message says what to do. */
export class PictureProblem extends Error {}

/**
 * @param {Blob} file @returns {Promise<{data: ArrayBuffer, type: string, width: number, height: number}>} a JPEG of pixels alone
 * @throws {PictureProblem}
 */
export async function redrawn(file) {
  const bitmap = await opened(file);
  const scale = Math.min(1, LONGEST / Math.max(bitmap.width, bitmap.height));
  const [width, height] = [bitmap.width, bitmap.height].map((side) => Math.max(1, Math.round(side * scale)));
  const canvas = document.createElement('canvas');
  Object.assign(canvas, { width, height });
  /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d')).drawImage(bitmap, 0, 0, width, height);
  bitmap.close();
  for (const quality of QUALITIES) {
    const blob = await new Promise((/** @type {(made: Blob | null) => void} */ done) => canvas.toBlob(done, 'image/jpeg', quality));
    if (blob && blob.size <= MOST_BYTES) return { data: await blob.arrayBuffer(), type: 'image/jpeg', width, height };
  }
  throw new PictureProblem('This picture could not be made small enough. Take it again, nearer to the screen.');
}

/** Turned as the camera was held. @param {Blob} file */
async function opened(file) {
  try {
    return await createImageBitmap(file, { imageOrientation: 'from-image' });
  } catch (error) {
    if (!(error instanceof DOMException)) throw error;
    throw new PictureProblem('This file is no picture that can be read here. Nothing was kept.');
  }
}
