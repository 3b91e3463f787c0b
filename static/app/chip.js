/** The sync chip: always on the screen, never alarming by itself, exact about what the practice holds. */
import { html } from 'lit-html';
import { state, update } from './state.js';

/** How long ago, in words. @param {string} at ISO time @param {number} [now] */
export function ago(at, now = Date.now()) {
  const minutes = Math.max(0, Math.floor((now - new Date(at).getTime()) / 60000));
  if (minutes < 1) return 'just now';
  if (minutes < 60) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? `${hours} h` : `${Math.floor(hours / 24)} days`;
}

/** @param {import('./types').SyncState} sync @returns {string} */
export function chipWords(sync) {
  if (!sync.connected) return sync.own ? `not connected, ${sync.own} on this phone only` : 'not connected to a practice';
  if (sync.revoked) return sync.pending ? `revoked, ${sync.pending} not sent` : 'revoked, all is at the practice';
  if (sync.phase === 'sending') return `sending batch ${sync.batch} of ${sync.batches}`;
  if (sync.pending) {
    const age = sync.oldest ? ago(sync.oldest) : 'just now';
    const oldest = age === 'just now' ? '' : `, oldest ${age}`;
    return `${sync.pending} not sent${oldest}${sync.phase === 'blocked' ? ', link needed' : ''}`;
  }
  if (sync.receipt) return `at the practice: ${sync.held} of ${sync.own}`;
  return sync.phase === 'offline' ? 'practice out of reach' : 'connected, nothing to send';
}

/** Old unsent entries get a louder mark: shape first, colour second. @param {import('./types').SyncState} sync */
function age(sync) {
  if (!sync.pending || !sync.oldest) return 'calm';
  const hours = (Date.now() - new Date(sync.oldest).getTime()) / 3600000;
  if (hours > 72) return 'late';
  return hours > 24 ? 'old' : 'calm';
}

export function chip() {
  const { sync } = state;
  const sign = sync.connected && !sync.pending && sync.receipt && sync.held === sync.own ? '=' : sync.pending ? '>' : '-';
  return html`<button class="chip chip-${age(sync)}" data-sync=${sync.phase} @click=${() => update({ screen: 'settings', form: { back: state.screen } })}>
    <span class="chip-sign" aria-hidden="true">${sign}</span>${chipWords(sync)}
  </button>`;
}
