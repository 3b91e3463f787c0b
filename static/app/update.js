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
  // Asked, never waited for: some browsers answer only after a question to the person.
  navigator.storage?.persist?.();
  update({ offlineReady: true });
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
  if (!waiting) return;
  navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true });
  waiting.postMessage({ type: 'SKIP_WAITING' });
}
