/** The service worker's life: registered once, a new version waits for an explicit word. */
import { update } from './state.js';

/** @type {ServiceWorkerRegistration | null} */
let registration = null;

export async function registerWorker() {
  if (!('serviceWorker' in navigator)) return;
  try {
    registration = await navigator.serviceWorker.register('/sw.js', { updateViaCache: 'none' });
  } catch (error) {
    update({ trouble: `This phone could not store the app for use without a network (${error instanceof Error ? error.message : error}).` });
    return;
  }
  watch(registration);
  await navigator.serviceWorker.ready;
  update({ offlineReady: true });
  // Asked, never waited for: some browsers answer only after a question to the person.
  update({ promised: (await navigator.storage?.persist?.()) ?? false });
}

/** @param {ServiceWorkerRegistration} reg */
function watch(reg) {
  if (reg.waiting) update({ updateReady: true });
  reg.addEventListener('updatefound', () => {
    const next = reg.installing;
    next?.addEventListener('statechange', () => {
      if (next.state === 'installed' && reg.active) update({ updateReady: true });
    });
  });
}

/** A person said so, on the list page: activate the new version and start it. */
export function applyUpdate() {
  const waiting = registration?.waiting;
  if (!waiting) {
    // It took over by itself (this page was not under a worker yet): starting again is all that is left.
    location.reload();
    return;
  }
  navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true });
  waiting.postMessage({ type: 'SKIP_WAITING' });
}

/** A bonus where it exists: the browser sends on even when this page is gone. @returns {Promise<void>} */
export async function askBackground() {
  const sync = /** @type {any} */ (registration)?.sync;
  if (!sync) return;
  try {
    await sync.register('gelside-send');
  } catch (error) {
    // Not allowed here (a private window, a setting): the page's own loop goes on as before.
    if (!(error instanceof DOMException)) throw error;
  }
}
