/** A recorded clip: the browser's own recorder, one minute at most. Nothing of it leaves the practice. */

export const MOST_S = 60;
const BITS_PER_SECOND = 32000;

/** @typedef {{data: ArrayBuffer, type: string, seconds: number}} Clip */

export function canRecord() {
  return Boolean(navigator.mediaDevices) && 'MediaRecorder' in globalThis;
}

/**
 * Begin. @param {() => void} onSound twice a second while sound comes @param {(clip: Clip | null) => void} onClip when it was
 * stopped, by a tap or by the clock; null: nothing was recorded
 * @returns {Promise<() => void>} stops it @throws {Error} in words, where the microphone is not to be had
 */
export async function startClip(onSound, onClip) {
  const stream = await microphone();
  const recorder = new MediaRecorder(stream, { audioBitsPerSecond: BITS_PER_SECOND });
  const began = performance.now();
  /** @type {Blob[]} */
  const parts = [];
  const stop = () => {
    if (recorder.state !== 'inactive') recorder.stop();
  };
  const clock = setTimeout(stop, MOST_S * 1000);
  recorder.ondataavailable = ({ data }) => {
    if (data.size) parts.push(data);
    if (recorder.state === 'recording') onSound();
  };
  recorder.onstop = async () => {
    clearTimeout(clock);
    for (const track of stream.getTracks()) track.stop();
    const seconds = Math.max(1, Math.round((performance.now() - began) / 1000));
    const type = recorder.mimeType.split(';')[0] || 'audio/webm';
    onClip(parts.length ? { data: await new Blob(parts).arrayBuffer(), type, seconds } : null);
  };
  recorder.start(500);
  return stop;
}

async function microphone() {
  try {
    return await navigator.mediaDevices.getUserMedia({ audio: true });
  } catch (error) {
    console.info('no microphone', error);
    throw new Error("This phone did not let Gelside hear. The keyboard's own dictation works without that.");
  }
}
