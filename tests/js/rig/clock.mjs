/** A clock that moves only when told, and dice that fall the same way again. */

/** A small repeatable random source (mulberry32). @param {number} seed @returns {() => number} 0 to 1 */
export function dice(seed) {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Let every promise that can go on go on. */
export async function settle() {
  for (let turn = 0; turn < 20; turn += 1) await new Promise((resolve) => setImmediate(resolve));
}

/**
 * Timers of one window. `pass` lets them ring in order; after each, `quiet` waits until all it set off has ended.
 * @param {number} [random] what `random` gives @param {() => Promise<void>} [quiet]
 */
export function fakeClock(random = 0.5, quiet = settle) {
  const clock = { now: 0, timers: new Map(), next: 0, dice: random };
  return Object.assign(clock, {
    later(act, ms) {
      clock.next += 1;
      clock.timers.set(clock.next, { act, at: clock.now + ms });
      return clock.next;
    },
    cancel: (timer) => clock.timers.delete(timer),
    random: () => clock.dice,
    due: () => [...clock.timers.values()].map((timer) => timer.at - clock.now),
    async pass(ms) {
      const end = clock.now + ms;
      for (;;) {
        const next = [...clock.timers].sort((a, b) => a[1].at - b[1].at)[0];
        if (!next || next[1].at > end) break;
        clock.now = Math.max(clock.now, next[1].at);
        clock.timers.delete(next[0]);
        next[1].act();
        await quiet();
      }
      clock.now = end;
    },
  });
}
