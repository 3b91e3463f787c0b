/**
 * Nothing moves under a finger: from its coming down to its click the page is not drawn anew. A line that the rules put
 * under a value just then would shift the rows, and the tap would be another row's.
 */

/** A finger that rests holds nothing up for longer. */
const LONGEST_MS = 1000;
/** The click follows the finger's going up, where one follows at all. */
const CLICK_WITHIN_MS = 100;

/** @param {() => void} draw @returns {() => void} draws at once, or as soon as the finger has done what it came for */
export function steady(draw) {
  let down = false;
  let owed = false;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  const within = (/** @type {number} */ ms) => {
    clearTimeout(timer);
    timer = setTimeout(free, ms);
  };
  const free = () => {
    clearTimeout(timer);
    down = false;
    if (!owed) return;
    owed = false;
    draw();
  };
  document.addEventListener('pointerdown', () => {
    down = true;
    within(LONGEST_MS);
  }, { capture: true });
  document.addEventListener('pointerup', () => within(CLICK_WITHIN_MS), { capture: true });
  document.addEventListener('pointercancel', free, { capture: true });
  // Behind all who listen to the click: what it changed is drawn with it.
  globalThis.addEventListener('click', free);
  return () => {
    if (down) owed = true;
    else draw();
  };
}
