"""Memory of the phone's page over a long day, by hand: exams opened, filled and finished in one window.

    .venv/bin/python -m tests.bench.page_memory --exams 60

A seeded server of its own, Chromium at 390 x 844 with touch; walk-ins, each with readings, states and a note, by taps,
sent as they are kept. After 10, 30 and 60 exams (or as many as asked for) garbage is collected and three figures are
printed: what the page's own code holds (JSHeapUsedSize), its nodes and listeners, and what the whole process takes,
the rules' worker with it. The page keeps the entries of the phone in memory, so the first may grow by about what those
take; nodes and listeners must not grow. Built app needed (`./tests/run` builds it).
"""

import argparse
from pathlib import Path

from playwright.sync_api import Browser, CDPSession, Page, expect, sync_playwright

from demo import seed
from e2e.browser import launch_options
from e2e.conftest import PHONE
from e2e.hands import Hands
from e2e.servers import demo_server
from e2e.test_start import wait_for_list

PATIENCE_MS = 60_000
READINGS = {"adrenal.left.caudal_pole_thickness": ("6.4", "6.9"), "adrenal.left.cranial_pole_thickness": ("6.3", "6.1"),
            "kidney.left.length": ("70.0", "71.3"), "aorta.diameter": ("9.8",)}
SEEN = ("liver", "gallbladder", "spleen", "jejunum")
MB = 2**20
HELD = """
() => new Promise((resolve, reject) => {
  const opening = indexedDB.open('gelside');
  opening.onsuccess = () => {
    const asked = opening.result.transaction('entries').objectStore('entries').getAll();
    asked.onsuccess = () => {
      opening.result.close();
      resolve([asked.result.length, asked.result.reduce((sum, row) => sum + row.header.length + row.body.length, 0)]);
    };
    asked.onerror = () => reject(asked.error);
  };
})
"""


def exam(hands: Hands) -> None:
    """One walk-in from the list to the list."""
    page = hands.page
    hands.act("walk-in")
    hands.tap_words("dog")
    person = page.locator('[data-choice="V. Sorrel"]').first
    if person.count() and person.get_attribute("aria-pressed") != "true":
        hands.tap(person)
    hands.keys("8.4")
    hands.act("begin")
    expect(page.locator("body[data-screen=exam][data-engine=ready]")).to_be_attached(timeout=PATIENCE_MS)
    hands.normal(*SEEN)
    for quantity, values in READINGS.items():
        hands.go(quantity.rpartition(".")[0])
        hands.read(quantity, *values)
    hands.note("Margins smooth, texture even.")
    hands.wait_judged()
    page.locator('[data-act="open-sheet"]').first.tap()
    hands.act("close-exam")
    expect(page.locator("body[data-screen=list]")).to_be_attached()


def told(page: Page, session: CDPSession, browser: Browser, exams: int) -> None:
    session.send("HeapProfiler.collectGarbage")
    taken = {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}
    rows, size = page.evaluate(HELD)
    print(f"{exams:3} exams: page {taken['JSHeapUsedSize'] / MB:6.2f} MB, {taken['Nodes']:6.0f} nodes, "
          f"{taken['JSEventListeners']:5.0f} listeners; process {largest(browser):4.0f} MB; "
          f"{rows} entries on the phone, {size / MB:.2f} MB of text", flush=True)


def largest(browser: Browser) -> float:
    """What the largest of the browser's processes for pages holds in memory, MB."""
    processes = browser.new_browser_cdp_session().send("SystemInfo.getProcessInfo")["processInfo"]
    pages = [Path(f"/proc/{one['id']}/status").read_text() for one in processes if one["type"] == "renderer"]
    return max(int(text.partition("VmRSS:")[2].split()[0]) for text in pages) / 1024


def run(page: Page, browser: Browser, exams: int) -> None:
    wait_for_list(page)
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable")
    hands = Hands(page)
    told(page, session, browser, 0)
    for number in range(1, exams + 1):
        exam(hands)
        if number in (10, 30, 60, exams):
            told(page, session, browser, number)


def main() -> None:
    parser = argparse.ArgumentParser(description="Memory of the phone's page over many exams.")
    parser.add_argument("--exams", type=int, default=60)
    exams = parser.parse_args().exams
    with demo_server() as server, sync_playwright() as playwright:
        browser = playwright.chromium.launch(**launch_options(playwright))
        try:
            page = browser.new_context(**PHONE).new_page()
            page.goto(f"{server.address}/#phone={seed.PHONE_TOKEN}")
            run(page, browser, exams)
        finally:
            browser.close()


if __name__ == "__main__":
    main()
