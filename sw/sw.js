/**
 * The service worker: the whole app is precached as one unit, so the phone starts without a network.
 * A new version waits until a person says so (no skipWaiting at install). Data traffic never passes here.
 */
import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute } from 'workbox-precaching';
import { NavigationRoute, registerRoute } from 'workbox-routing';

const worker = /** @type {any} */ (globalThis);

precacheAndRoute(/** @type {any} */ (self).__WB_MANIFEST);
cleanupOutdatedCaches();

registerRoute(
  new NavigationRoute(createHandlerBoundToURL('/'), {
    denylist: [/^\/api\//, /^\/review/, /^\/report/, /^\/sign-in/, /^\/sign-out/, /^\/limits/, /^\/static/],
  }),
);

worker.addEventListener('message', (/** @type {MessageEvent} */ event) => {
  if (event.data && event.data.type === 'SKIP_WAITING') worker.skipWaiting();
});
