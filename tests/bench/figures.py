"""One page of figures, measured anew: sizes, the phone at the table, the rules, the server as it grows, a month.

    .venv/bin/python -m tests.bench.figures            # print the page (about ten minutes on two processors)
    .venv/bin/python -m tests.bench.figures --write    # put it into DEVELOPERS.md

The phone: the built app in Chromium, 390 x 844 with touch, the server stopped, with 1, 10 and 100 exams of 40 entries
on it; each at this machine's speed and with the page's thread four times slower (Chromium does not slow the worker in
which the rules run). A start counts from the navigation to a list that can be used; a tap from the finger's lifting to
the text on the screen. The month is that of tests/bench/month.mjs. Built app needed (`./tests/run` builds it).
"""

import argparse
import json
import os
import random
import re
import shutil
import subprocess
import sys
from datetime import date

from playwright.sync_api import Page, Playwright, expect, sync_playwright

from demo import seed
from e2e.browser import launch_options
from e2e.conftest import PHONE
from e2e.hands import Hands
from e2e.records import WRITE_ROWS
from e2e.servers import ROOT, demo_server
from tests.bench import core, phone, server
from tests.builders import Phone
from tests.core_parity.test_two_engines import CORE, RUNTIME
from webapp.store import entries

EXAMS = (1, 10, 100)
SLOWER = (1, 4)
ENTRIES_OF_EXAM = 40
STARTS = 5
PATIENCE_MS = 120_000
GUIDE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- figures: made by tests.bench.figures -->", "<!-- end of figures -->"

# When the list can be used, and when a kept value is said to be saved; beside the stopwatch of tests.bench.phone.
MARKS = """
globalThis.marks = { list: null, saved: [] };
let kept = null;
addEventListener('pointerup', (event) => {
  const keep = event.target.closest && event.target.closest('[data-act=keep]');
  if (keep) kept = { at: event.timeStamp, saved: document.body.dataset.saved };
}, true);
new MutationObserver(() => {
  const { dataset } = document.body || { dataset: {} };
  const usable = dataset.screen === 'list' && document.querySelector('[data-visit]');
  if (marks.list === null && usable) marks.list = performance.now();
  if (kept && dataset.saved !== kept.saved && dataset.saving === '0') {
    marks.saved.push(performance.now() - kept.at);
    kept = null;
  }
}).observe(document, { subtree: true, childList: true, attributes: true });
"""
FORGET_WAITING = """
() => new Promise((resolve, reject) => {
  const opening = indexedDB.open('gelside');
  opening.onsuccess = () => {
    const tx = opening.result.transaction('waiting', 'readwrite');
    tx.objectStore('waiting').clear();
    tx.oncomplete = () => { opening.result.close(); resolve(); };
    tx.onabort = () => reject(tx.error);
  };
})
"""


def fill(page: Page, exams: int) -> None:
    """So many finished exams, all sent, on a phone that has written nothing yet."""
    writer, chance = Phone("c" * 32, exam=None, patient=None), random.Random(1)
    for _ in range(exams):
        server.exam(writer, ENTRIES_OF_EXAM, chance)
    rows = []
    for number, one in enumerate(writer.written, 1):
        at = json.loads(one["header"])["at"]
        rows.append({"id": entries.entry_id(one), "device": writer.device, "seq": number, "own": 1, "at": at, **one})
    state = {"device": writer.device, "seq": len(rows), "prev": writer.place.prev}
    page.evaluate(WRITE_ROWS, [rows, state])
    page.evaluate(FORGET_WAITING)


def at_the_table(playwright: Playwright, exams: int) -> dict[int, dict[str, list[float]]]:
    """{slower: {figure: milliseconds}} of a phone with so many exams on it."""
    with demo_server() as practice:
        browser = playwright.chromium.launch(**launch_options(playwright))
        try:
            page = browser.new_context(**PHONE).new_page()
            page.add_init_script(MARKS)
            page.add_init_script(phone.STOPWATCH)
            page.goto(f"{practice.address}/#phone={seed.PHONE_TOKEN}")
            expect(page.locator("body[data-offline=ready]")).to_be_attached(timeout=PATIENCE_MS)
            expect(page.locator("[data-visit]")).to_have_count(12, timeout=PATIENCE_MS)
            fill(page, exams)
            practice.stop()
            return measured(page, practice.address)
        finally:
            browser.close()


def measured(page: Page, address: str) -> dict[int, dict[str, list[float]]]:
    throttle = page.context.new_cdp_session(page)
    made: dict[int, dict[str, list[float]]] = {}
    for slower in SLOWER:
        throttle.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        starts = []
        for _ in range(STARTS):
            page.goto("about:blank")
            page.goto(address)
            expect(page.locator("body[data-engine=ready][data-screen=list]")).to_be_attached(timeout=PATIENCE_MS)
            starts.append(page.evaluate("marks.list"))
        made[slower] = {"start": starts}
    throttle.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    hands = Hands(page)
    hands.keep_by_key()
    hands.begin_visit("Otto")
    hands.normal("liver", "gallbladder", "portal_vein", "spleen")
    for slower in SLOWER:
        throttle.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        page.evaluate("for (const list of [...Object.values(stopwatch), marks.saved]) list.length = 0")
        for structure, quantity, values in phone.READINGS:
            hands.go(structure)
            phone.take(page, hands, quantity, values)
        taken = page.evaluate("({ ...stopwatch, saved: marks.saved })")
        made[slower] |= {"key": [one["frame"] for one in taken["digits"]], "saved": taken["saved"],
                         "flag": [one["text"] for one in taken["lines"]]}
    return made


WORDS = {
    "start": "start without network to a list that can be used",
    "key": "a key to the frame with its digit",
    "saved": 'keep to "saved" (strict transaction)',
    "flag": "keep to the line with its flag",
}


def phone_table() -> list[str]:
    with sync_playwright() as playwright:
        columns = {exams: at_the_table(playwright, exams) for exams in EXAMS}
    head = [f"{exams} exam{'s' if exams > 1 else ''}" for exams in EXAMS]
    lines = [f"| ms, median / p95 | slower | {' | '.join(head)} |", f"| --- | --- |{' --- |' * len(EXAMS)}"]
    for figure, words in WORDS.items():
        for slower in SLOWER:
            cells = [pair(columns[exams][slower][figure]) for exams in EXAMS]
            lines.append(f"| {words} | {slower}x | {' | '.join(cells)} |")
    return lines


def pair(values: list[float]) -> str:
    return f"{phone.percentile(values, 0.5):.0f} / {phone.percentile(values, 0.95):.0f}"


def node() -> str:
    return shutil.which("node", path=f"{ROOT / '.venv/bin'}{os.pathsep}{os.environ['PATH']}") or "node"


def fold_table(rounds: int = 10) -> list[str]:
    """The rules in the phone's engine, outside a browser."""
    asked = {
        "runtime": str(RUNTIME),
        "files": {path.name: path.read_text(encoding="utf-8") for path in CORE.glob("*.py")},
        "tables": {path.stem: path.read_text(encoding="utf-8") for path in (CORE / "tables").glob("*.json")},
        "sizes": [core.size(readings) for readings in (15, 60, 240)],
        "rounds": rounds,
    }
    script = ROOT / "tests/bench/core.mjs"
    ran = subprocess.run([node(), str(script)], input=json.dumps(asked), capture_output=True, text=True, check=True)
    lines = ["| readings | one exam and two earlier ones folded and judged, ms median / p95 (4x) | one more reading |",
             "| --- | --- | --- |"]
    for row in json.loads(ran.stdout):
        cells = [f"{pair(row[name])} ({pair([4 * one for one in row[name]])})" for name in ("open", "more")]
        lines.append(f"| {row['readings']} | {' | '.join(cells)} |")
    return lines


def server_table(many: int) -> list[str]:
    """The lines that tests.bench.server prints, a column for each number of entries."""
    asked = [sys.executable, "-m", "tests.bench.server", "--entries", str(many), "--skip-rebuild"]
    ran = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True, check=True)
    rows: dict[str, dict[str, str]] = {}
    for count, name, value in re.findall(r"^ *([\d,]+) (.{38}) (.+)$", ran.stdout, re.MULTILINE):
        if name.strip():
            rows.setdefault(name.strip(), {})[count] = " ".join(value.split())
    levels = list(dict.fromkeys(count for row in rows.values() for count in row))[:-1]
    lines = [f"| the server holds | {' | '.join(f'{count} entries' for count in levels)} |",
             f"| --- |{' --- |' * len(levels)}"]
    lines += [f"| {name} | {' | '.join(row.get(count, '') for count in levels)} |" for name, row in rows.items()
              if any(count in row for count in levels)]
    return lines


DAY = re.compile(
    r"^day (\d+): \d+ wait; phone A (.+?); phone B (.+?); modules .+ ([\d.]+) MB; server (\d+) MB", re.MULTILINE
)


def month_table() -> list[str]:
    """What a month of faults takes on every side as it goes on, and that all of it is accounted for at its end."""
    asked = [node(), "--expose-gc", "tests/bench/month.mjs"]
    ran = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True, check=True)
    shown = DAY.findall(ran.stdout)[::7]
    names = ("on phone A", "on phone B", "both phones' modules and storage, in memory, MB", "the server's memory, MB")
    lines = [f"| a month of faults, after day | {' | '.join(day[0] for day in shown)} |",
             f"| --- |{' --- |' * len(shown)}"]
    lines += [f"| {name} | {' | '.join(day[place] for day in shown)} |" for place, name in enumerate(names, 1)]
    end = next(line for line in ran.stdout.splitlines() if line.startswith("all sent"))
    return [*lines, "", f"What is sent leaves a phone after seven days. At the end: {end}."]


def sizes() -> list[str]:
    """What the build says of itself, which fails beyond its limits."""
    npm = shutil.which("npm", path=f"{ROOT / '.venv/bin'}{os.pathsep}{os.environ['PATH']}") or "npm"
    path = f"{ROOT / '.venv/bin'}{os.pathsep}{os.environ['PATH']}"
    ran = subprocess.run([npm, "run", "--silent", "build"], cwd=ROOT / "sw", capture_output=True, text=True, check=True,
                         env={**os.environ, "PATH": path})
    return [f"- {line}" for line in ran.stdout.splitlines() if "limit" in line]


def page_of(many: int) -> str:
    load = os.getloadavg()[0]
    parts = [sizes(), phone_table(), fold_table(), server_table(many), month_table()]
    told = (
        f"Made by `.venv/bin/python -m tests.bench.figures --write --entries {many}` on "
        f"{date.today():%d %B %Y}: {os.cpu_count()} processors, load {load:.1f} at the beginning "
        f"and {os.getloadavg()[0]:.1f} at the end. Beyond the number of "
        "processors, times by the clock are those of a machine that does other things; in brackets, at the server, is "
        "processor time. Aims at 4x: start 1500, saved p95 100, a tap's frame p95 150."
    )
    return "\n\n".join([told, *("\n".join(part) for part in parts)])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--entries", type=int, default=100_000, help="the largest practice of the server's table")
    given = parser.parse_args()
    made = page_of(given.entries)
    print(made)
    if given.write:
        before, _, rest = GUIDE.read_text(encoding="utf-8").partition(BEGIN)
        GUIDE.write_text(f"{before}{BEGIN}\n\n{made}\n\n{END}{rest.partition(END)[2]}", encoding="utf-8")


if __name__ == "__main__":
    main()
