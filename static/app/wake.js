/** The screen stays awake while an exam is open; the system takes the lock away when the page is hidden. */

/** @type {any} */
let lock = null;
let wanted = false;

/** @param {boolean} on */
export async function keepAwake(on) {
  wanted = on;
  if (!('wakeLock' in navigator)) return;
  if (!on) {
    const held = lock;
    lock = null;
    await held?.release();
    return;
  }
  if (lock || document.visibilityState !== 'visible') return;
  try {
    lock = await navigator.wakeLock.request('screen');
    lock.addEventListener('release', () => {
      lock = null;
    });
  } catch (error) {
    // A phone on low battery refuses: the screen then dims as usual, and nothing depends on it.
    if (!(error instanceof DOMException)) throw error;
  }
}

document.addEventListener('visibilitychange', () => {
  if (wanted) keepAwake(true);
});
