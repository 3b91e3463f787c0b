/** What this phone tells the practice of itself with each request: unsent entries, versions, and its canary. */
import { getMeta, setMeta } from './db.js';
import { newDeviceId } from './entry.js';
import { state } from './state.js';
import { rulesHash } from './tables.js';
import { onReport } from './wire.js';

/** The canary is gone when the browser threw the storage away: the desk then sees a new one. */
export async function prepareReport() {
  let canary = await getMeta('canary');
  if (!canary) {
    canary = newDeviceId();
    await setMeta('canary', canary);
  }
  onReport(() => ({
    unsent: state.sync.pending, oldest: state.sync.oldest, app: GELSIDE_VERSION, rules: rulesHash(), store: canary,
  }));
}
