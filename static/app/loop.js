/**
 * When to send: the state machine of the phone's loop. It knows neither network nor storage; clock, lock and round
 * are handed in. One round at a time in this window, one window at a time by the lock; a failure waits with
 * back-off and jitter, and what a person must settle is `blocked` with its reason.
 */
import { WireProblem, pause } from './wire.js';

export const SOON_MS = 600;
export const QUIET_MS = 60000;
/** Another window is sending: look again soon whether something is left. */
export const ELSEWHERE_MS = 5000;

/** @typedef {{later: (act: () => void, ms: number) => any, cancel: (timer: any) => void, random: () => number}} Clock */
/** @typedef {Pick<import('./types').SyncState, 'phase' | 'reason' | 'code'>} Standing how a round ended */

/**
 * @param {object} parts
 * @param {Clock} parts.clock
 * @param {(round: () => Promise<Standing>) => Promise<Standing | null>} parts.lock null: another window has it
 * @param {() => Promise<Standing>} parts.round rejects with a WireProblem
 * @param {(standing: Partial<import('./types').SyncState>) => void} parts.show
 * @param {() => Promise<void>} parts.settled runs after every round, before the next is planned
 */
export function makeLoop({ clock, lock, round, show, settled }) {
  /** @type {any} */
  let timer;
  let failures = 0;
  let running = false;
  let again = false;
  let asked = false;

  /** @param {number} ms */
  function plan(ms) {
    clock.cancel(timer);
    timer = clock.later(run, ms);
  }

  /** @returns {Promise<number>} how long to wait for the next round */
  async function attempt() {
    try {
      const standing = await lock(round);
      failures = 0;
      if (standing) show({ ...standing, batch: 0, batches: 0 });
      return standing ? QUIET_MS : ELSEWHERE_MS;
    } catch (error) {
      failures += 1;
      show({ ...standingOf(error), batch: 0, batches: 0 });
      const asked = error instanceof WireProblem ? error.retryAfterMs : 0;
      return Math.max(pause(failures, clock.random()), asked);
    }
  }

  async function run() {
    if (running) {
      again = true;
      return;
    }
    running = true;
    const wait = await attempt();
    try {
      await settled();
    } catch (error) {
      // The storage may fail for a moment; the loop must outlive it, and says so.
      show(standingOf(error));
    }
    running = false;
    // What a person asked for during the round is done at once, whatever became of the round.
    plan(asked ? 0 : again && failures === 0 ? SOON_MS : wait);
    again = false;
    asked = false;
  }

  return {
    /** Something new was kept: send it soon, unless a pause after a failure is running. */
    nudge() {
      // A round under way may have counted before this entry: it is followed by another.
      if (running) again = true;
      else if (failures === 0) plan(SOON_MS);
    },
    /** A person, or the network's return, asks for a try at once. */
    now() {
      failures = 0;
      if (running) asked = true;
      else plan(0);
    },
  };
}

/** @param {unknown} error @returns {Standing} */
export function standingOf(error) {
  const reason = error instanceof Error ? error.message : String(error);
  if (!(error instanceof WireProblem)) return { phase: 'waiting', reason, code: 'phone' };
  const blocked = ['refused', 'not_taken', 'too_large'].includes(error.what);
  return { phase: error.what === 'offline' ? 'offline' : blocked ? 'blocked' : 'waiting', reason, code: error.code };
}
