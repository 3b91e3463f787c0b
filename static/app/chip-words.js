/** The words of the sync chip: exact about what the practice holds, louder only with age. */

/** How long ago, in words. @param {string} at ISO time @param {number} [now] */
export function ago(at, now = Date.now()) {
  const minutes = Math.max(0, Math.floor((now - new Date(at).getTime()) / 60000));
  if (minutes < 1) return 'just now';
  if (minutes < 60) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? `${hours} h` : `${Math.floor(hours / 24)} days`;
}

/** What a person has to settle, in two words. */
const BLOCKED = /** @type {Record<string, string>} */ ({
  unknown_phone: 'link needed', to_approve: 'approve at the desk', not_taken: 'not taken', too_large: 'too large', damaged: 'damaged',
});
const DAY_HOURS = 24;
const LATE_HOURS = 72;
const HOUR_MS = 3600000;

/** Where the entries are, and pictures that are not at the practice yet. @param {import('./types').SyncState} sync @param {number} [now] @returns {string} */
export function chipWords(sync, now = Date.now()) {
  const photos = !sync.photos ? '' : sync.photos === 1 ? '1 photo or clip not sent' : `${sync.photos} photos or clips not sent`;
  return [entriesWords(sync, now), photos].filter(Boolean).join('; ');
}

/** @param {import('./types').SyncState} sync @param {number} now */
function entriesWords(sync, now) {
  if (!sync.connected) return sync.pending ? `not connected, ${sync.pending} on this phone only${oldWords(sync, now)}` : 'not connected to a practice';
  if (sync.revoked) return sync.pending ? `revoked, ${sync.pending} not sent${oldWords(sync, now)}` : 'revoked, all is at the practice';
  if (sync.phase === 'sending') return `sending ${sync.batch} of ${sync.batches}: ${sync.pending} not sent${oldWords(sync, now)}`;
  const blocked = sync.phase === 'blocked' ? `${BLOCKED[sync.code] || 'link needed'}: ` : '';
  if (sync.pending) return `${blocked}${sync.pending} not sent${ageWords(sync, now)}`;
  if (blocked) return blocked.slice(0, -2);
  if (sync.receipt) return `at the practice: ${sync.held} of ${sync.own}`;
  return sync.phase === 'offline' ? 'practice out of reach' : 'connected, nothing to send';
}

/** Nothing while it is young. @param {import('./types').SyncState} sync @param {number} now */
function oldWords(sync, now) {
  const grade = ageOf(sync, now);
  if (grade === 'late') return ' for over 3 days';
  return grade === 'old' ? ' for over a day' : '';
}

/** @param {import('./types').SyncState} sync @param {number} now */
function ageWords(sync, now) {
  const old = oldWords(sync, now);
  if (old) return old;
  const age = sync.oldest ? ago(sync.oldest, now) : 'just now';
  return age === 'just now' ? '' : `, oldest ${age}`;
}

/**
 * Old unsent entries say so louder, by word and shape before colour.
 * @param {import('./types').SyncState} sync @param {number} [now] @returns {'calm' | 'old' | 'late'}
 */
export function ageOf(sync, now = Date.now()) {
  if (!sync.pending || !sync.oldest) return 'calm';
  const hours = (now - new Date(sync.oldest).getTime()) / HOUR_MS;
  if (hours > LATE_HOURS) return 'late';
  return hours > DAY_HOURS ? 'old' : 'calm';
}
