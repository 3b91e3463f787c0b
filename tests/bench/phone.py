"""The phone at the table, by hand: how soon the line stands under a value, and a digit after its key.

    .venv/bin/python -m tests.bench.phone --slower 4

A seeded server of its own, a browser of 390 x 844 with touch, the server stopped, the exam of an animal that has an
earlier one. Twenty readings by taps on the keypad. Times run from the finger's lifting (the event's own stamp, so
waiting in the queue counts) to the text in the page, and to the frame after it. Chromium slows the page's thread; the
rules run in a worker that it does not slow, so a second figure counts the worker's own time as many times over.
Prints figures; asserts nothing about them. Built app needed (`./tests/run` builds it).
"""

import argparse
import math
import statistics
from typing import Any

from playwright.sync_api import Page, expect, sync_playwright

from demo import seed
from e2e.browser import launch_options
from e2e.conftest import PHONE
from e2e.hands import Hands
from e2e.servers import Server, demo_server
from e2e.test_start import LIST_WITHIN_MS, wait_for_list

READINGS = (
    ("adrenal.left", "adrenal.left.caudal_pole_thickness", ("6.4", "6.9", "6.6")),
    ("adrenal.left", "adrenal.left.cranial_pole_thickness", ("6.3", "6.1", "6.2")),
    ("adrenal.right", "adrenal.right.caudal_pole_thickness", ("7.4", "7.1", "8.9")),
    ("adrenal.right", "adrenal.right.cranial_pole_thickness", ("7.0", "6.8")),
    ("kidney.left", "kidney.left.length", ("70.0", "71.3")),
    ("kidney.right", "kidney.right.length", ("72.4", "71.5")),
    ("kidney.left", "kidney.left.pelvis_width", ("4.5",)),
    ("kidney.right", "kidney.right.pelvis_width", ("4.0",)),
    ("aorta", "aorta.diameter", ("9.8",)),
    ("duodenum", "duodenum.wall_thickness", ("4.6",)),
    ("jejunum", "jejunum.wall_thickness", ("3.7",)),
)
# Stamps of taps, of the page's texts, and of the questions to the worker; set up before the page's own code.
STOPWATCH = """
globalThis.stopwatch = { lines: [], digits: [], asked: [], kept: [] };
let tap = null;
addEventListener('pointerup', (event) => {
  const key = event.target.closest && event.target.closest('[data-act=keep], [data-key]');
  if (!key) return;
  const box = document.querySelector('.row.current .box.active');
  const text = box ? box.textContent.trim() : '';
  tap = { at: event.timeStamp, key: key.dataset.key, judged: document.body.dataset.judged, text };
}, true);
const done = (list, more) => {
  const { at } = tap;
  const text = performance.now() - at;
  tap = null;
  requestAnimationFrame(() => setTimeout(() => list.push({ text, frame: performance.now() - at, ...more }), 0));
};
const look = () => {
  if (!tap) return;
  if (tap.key !== undefined) {
    const box = document.querySelector('.row.current .box.active');
    if (box && box.textContent.trim() === tap.text + tap.key) done(stopwatch.digits);
  } else if (document.body.dataset.judged !== tap.judged) {
    const line = document.querySelector('.echo .line');
    done(stopwatch.lines, { line: line ? line.textContent.trim().replace(/\\s+/g, ' ') : null });
  }
};
new MutationObserver(look).observe(document, { subtree: true, childList: true, characterData: true, attributes: true });
const begin = IDBDatabase.prototype.transaction;
IDBDatabase.prototype.transaction = function (stores, mode, ...rest) {
  const from = performance.now();
  const made = begin.call(this, stores, mode, ...rest);
  if (mode === 'readwrite' && [...stores].includes('entries')) {
    made.addEventListener('complete', () => stopwatch.kept.push(performance.now() - from));
  }
  return made;
};
const post = Worker.prototype.postMessage;
Worker.prototype.postMessage = function (message, ...rest) {
  const from = performance.now();
  const id = message && message.id;
  if (id !== undefined) this.addEventListener('message', function answer(event) {
    if (event.data.id !== id) return;
    this.removeEventListener('message', answer);
    stopwatch.asked.push(performance.now() - from);
  });
  return post.call(this, message, ...rest);
};
"""


def percentile(values: list[float], share: float) -> float:
    """The value below which this share of them lies, by the nearest rank."""
    ordered = sorted(values)
    return ordered[max(0, math.ceil(share * len(ordered)) - 1)]


def figures(values: list[float]) -> str:
    return (f"p50 {statistics.median(values):6.1f} ms   p95 {percentile(values, 0.95):6.1f} ms   "
            f"most {max(values):6.1f} ms   (n {len(values)})")


def take(page: Page, hands: Hands, quantity: str, values: tuple[str, ...]) -> None:
    for value in values:
        hands.take_row(quantity)
        before = hands.saved()
        for key in value:
            count = page.evaluate("stopwatch.digits.length")
            hands.keys(key)
            wait_for(page, "digits", count + 1)
        count = page.evaluate("stopwatch.lines.length")
        hands.act("keep")
        wait_for(page, "lines", count + 1)
        hands.wait_saved(before + 1)


def wait_for(page: Page, which: str, count: int) -> None:
    """Until the stopwatch has taken so many; the page's policy forbids Playwright's own polling by text."""
    for _ in range(2000):
        if page.evaluate(f"stopwatch.{which}.length") >= count:
            return
        page.wait_for_timeout(5)
    raise SystemExit(f"The stopwatch took no {which} within ten seconds.")


def run(page: Page, server: Server, slower: float) -> dict[str, Any]:
    page.add_init_script(STOPWATCH)
    page.goto(f"{server.address}/#phone={seed.PHONE_TOKEN}")
    wait_for_list(page)
    server.stop()
    hands = Hands(page)
    hands.keep_by_key()
    hands.begin_visit("Otto")
    expect(page.locator("body[data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    hands.normal("liver", "gallbladder", "portal_vein", "spleen")
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": slower})
    page.evaluate("stopwatch.asked.length = stopwatch.kept.length = 0")
    for structure, quantity, values in READINGS:
        hands.go(structure)
        take(page, hands, quantity, values)
    taken: dict[str, Any] = page.evaluate("stopwatch")
    return taken


def main() -> None:
    parser = argparse.ArgumentParser(description="Time the phone's answers at the table.")
    parser.add_argument("--slower", type=float, default=4.0, help="how many times slower the page's thread runs")
    slower = parser.parse_args().slower
    with demo_server() as server, sync_playwright() as playwright:
        browser = playwright.chromium.launch(**launch_options(playwright))
        taken = run(browser.new_context(**PHONE).new_page(), server, slower)
        browser.close()
    report(taken, slower)


def report(taken: dict[str, Any], slower: float) -> None:
    lines, digits, asked, kept = (taken[name] for name in ("lines", "digits", "asked", "kept"))
    print(f"{len(lines)} readings, the page's thread {slower:g} times slower, server stopped")
    print("from keep to the line's text      ", figures([one["text"] for one in lines]))
    print("from keep to the frame after it   ", figures([one["frame"] for one in lines]))
    print("from a key to its digit           ", figures([one["text"] for one in digits]))
    print("from a key to the frame after it  ", figures([one["frame"] for one in digits]))
    print("of it the strict transaction      ", figures(kept))
    print("of it the rules, there and back   ", figures(asked))
    more = (slower - 1) * statistics.median(asked)
    print(f"keep to text with the rules as slow as the page (+{more:.0f} ms):",
          figures([one["text"] + more for one in lines]))
    print("the lines, as they came:", *(f"{one['text']:6.1f} ms  {str(one['line'])[:80]}" for one in lines), sep="\n  ")


if __name__ == "__main__":
    main()
