/**
 * The service worker: the whole app is precached as one unit, so the phone starts without a network.
 * A new version waits until a person says so (no skipWaiting at install). Pages' data traffic never passes here;
 * where the browser offers Background Sync, what waits is sent even when no page is open.
 */
import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute } from 'workbox-precaching';
import { NavigationRoute, registerRoute } from 'workbox-routing';
import { pushAll, pushSealed } from '../static/app/push.js';
import { readToken } from '../static/app/token.js';
import { forgetVault, isReadable, serverWrapped, wakeVault } from '../static/app/vault.js';

const worker = /** @type {any} */ (globalThis);

precacheAndRoute(/** @type {any} */ (self).__WB_MANIFEST);
cleanupOutdatedCaches();

// The app's own address starts from what is kept here. Any other is the server's to answer (the desk has many, more each
// year); where nobody answers, an old bookmark of the app still starts it, and the desk's pages say that there is no network.
const shell = createHandlerBoundToURL('/');
const DESK = /^\/(account|animals|api|audit|authority\.crt|exchange|health|limits|people|phones|photos|records|report|review|sign-in|sign-out|spread|static|visits)/;
registerRoute(new NavigationRoute(shell, { allowlist: [/^\/(index\.html)?(\?|$)/] }));
registerRoute(new NavigationRoute(async (options) => {
  try {
    return await fetch(options.request);
  } catch (error) {
    if (DESK.test(options.url.pathname)) throw error;
    return shell(options);
  }
}));

worker.addEventListener('message', (/** @type {MessageEvent} */ event) => {
  if (event.data && event.data.type === 'SKIP_WAITING') worker.skipWaiting();
});

worker.addEventListener('sync', (/** @type {any} */ event) => {
  if (event.tag === 'gelside-send') event.waitUntil(sendWaiting());
});

/**
 * One flight with the pages by the same lock: it waits until a page that is sending has ended, well or by dying, and
 * sends what is left. Rejects when it failed, so that the browser tries again later.
 */
async function sendWaiting() {
  await navigator.locks.request('gelside-send', async () => {
    const token = await readToken();
    if (!token) return;
    await wakeVault();
    try {
      // The key is with a page alone: without it what lies sealed goes as it is.
      if (isReadable()) await pushAll(token, () => undefined, async () => undefined);
      else await pushSealed(token, serverWrapped() || '', () => undefined, async () => undefined);
    } finally {
      // A page that locks meanwhile must not leave a key behind here.
      forgetVault();
    }
  });
  new BroadcastChannel('gelside-sent').postMessage('sent');
}
