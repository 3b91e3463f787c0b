/** A core in a thread of its own: asked by messages, as the phone's worker is. MicroPython stands only one to a thread. */
import { Worker, isMainThread, parentPort, workerData } from 'node:worker_threads';
import { openCore } from '../../core_parity/core.mjs';

/** @param {{runtime: string, files: Record<string, string>, tables: Record<string, string>}} asked @param {string} text @returns {Promise<string>} one answer */
export function askedOnce(asked, text) {
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL(import.meta.url), { workerData: { asked, text } });
    worker.once('message', resolve);
    worker.once('error', reject);
  });
}

if (!isMainThread && workerData?.asked) {
  const call = (await openCore(workerData.asked))('call');
  parentPort?.postMessage(call(workerData.text));
}
