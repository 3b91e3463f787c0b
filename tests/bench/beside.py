"""Our sync beside PouchDB replicating to express-pouchdb, in one run on this machine, by hand:

    .venv/bin/python -m tests.bench.beside --repeats 5

The same 30 exams of 200 entries, from Chromium's IndexedDB (a profile on disk) to a server's disk, over the same kind
of line on loopback: first sync, a sync with nothing to do, and the rest after a cut half-way. Ours is the phone's own
journal and push against the whole server (granian, Flask, SQLite); the peer's page holds PouchDB, its server is
express-pouchdb over leveldb under node. Sides take turns; every repeat has a new profile and a new store. "processors
for it" adds up what all processes of a side spent on the first sync: on a busy machine it says more than the clock.

The peer is for this bench only: its packages go into instance/bench-peer (ignored), with exact versions, through npm
as this machine has it set up. Prints medians and ratios; asserts only that everything arrived.

Durability: our entries are written to IndexedDB with "strict" and answered after SQLite's COMMIT with
synchronous=FULL (the log is synced). PouchDB uses IndexedDB's default ("relaxed" in Chromium) and leveldb without sync:
a power cut may cost it the last writes, and makes it faster than it would be with ours.
"""

import argparse
import json
import os
import random
import shutil
import statistics
import subprocess
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, Playwright, sync_playwright

from e2e.browser import launch_options
from e2e.servers import HOST, ROOT, Server, free_port
from tests.bench import ours
from tests.bench.line import Line
from tests.bench.server import exam
from tests.builders import Phone
from webapp.store import phones
from webapp.store.db import open_database

PEER = {"pouchdb": "9.0.0", "express-pouchdb": "4.2.0", "express": "4.21.2"}
HERE = Path(__file__).parent / "peer"
INSTALLED = ROOT / "instance" / "bench-peer"
SW = ROOT / "sw" / "node_modules"
TOKEN = "a token of the bench"
EXAMS, ENTRIES = 30, 200
NOTHING_TIMES = 9
# How the peer is set: (name, adapter, documents a batch); 0 is its default of 100.
SETTINGS = (("PouchDB, default", "idb", 0), ("PouchDB, batches of 1000", "idb", 1000))

Figures = dict[str, list[float]]


def entries() -> list[list[dict[str, Any]]]:
    """The exams, entry by entry as a phone opens them."""
    chance = random.Random(7)
    phone = Phone("ab" * 16, exam=None, patient=None)
    made = []
    for _ in range(EXAMS):
        phone.written.clear()
        exam(phone, ENTRIES, chance)
        made.append([{**json.loads(one["header"]), "body": json.loads(one["body"])} for one in phone.written])
    return made


def drafts(exams: list[list[dict[str, Any]]]) -> list[list[dict[str, Any]]]:
    """What our page is given: the phone itself adds device, count, link, time and hashes."""
    keys = ("exam", "patient", "author", "behalf", "kind", "after", "of", "body")
    return [[{key: entry[key] for key in keys} for entry in one] for one in exams]


def documents(exams: list[list[dict[str, Any]]]) -> list[list[dict[str, Any]]]:
    """The same entries as documents. Ids rise, which is what a tree likes best."""
    return [[{"_id": f"{entry['device']}:{entry['seq']:08d}", **entry} for entry in one] for one in exams]


def install_peer() -> None:
    """Bring the peer's packages, said aloud, unless they are there."""
    wanted = {"name": "gelside-bench-peer", "private": True, "dependencies": PEER}
    manifest = INSTALLED / "package.json"
    if manifest.is_file() and json.loads(manifest.read_text()) == wanted and (INSTALLED / "node_modules").is_dir():
        return
    print(f"Installing for this bench only, into {INSTALLED.relative_to(ROOT)}:", PEER, flush=True)
    INSTALLED.mkdir(parents=True, exist_ok=True)
    manifest.write_text(json.dumps(wanted))
    subprocess.run(["npm", "install", "--no-audit", "--no-fund", "--silent"], cwd=INSTALLED, check=True)


def node() -> str:
    found = shutil.which("node", path=f"{ROOT / '.venv' / 'bin'}{os.pathsep}{os.environ.get('PATH', '')}")
    if found is None:
        raise SystemExit("node is needed: ./tests/run brings it into .venv.")
    return found


def build_ours(folder: Path) -> None:
    """The phone's modules and the bench's page, built as the app is."""
    folder.mkdir()
    command = [str(SW / ".bin" / "esbuild"), str(HERE / "ours.mjs"), "--bundle", "--minify", "--format=esm",
               "--target=es2022", f"--outfile={folder / 'ours.js'}", "--log-level=warning"]
    subprocess.run(command, env={**os.environ, "NODE_PATH": str(SW)}, check=True)
    page = '<!doctype html><title>Bench</title><body><script type="module" src="/build/ours.js"></script>'
    (folder / "index.html").write_text(page)


@contextmanager
def our_server(folder: Path) -> Iterator[tuple[int, Callable[[Page], int]]]:
    """granian over an empty practice; gives its port and how many entries it holds."""
    build_ours(folder / "build")
    os.environ[ours.BUILD] = str(folder / "build")
    db = open_database(folder / "gelside.sqlite3")
    phones.add(db, "Bench", TOKEN)
    server = Server(folder)
    server.factory = f"{ours.__name__}:app"
    server.start()
    try:
        yield server.port, lambda _page: int(db.execute("select count(*) from entries").fetchone()[0])
    finally:
        server.stop()
        db.close()


@contextmanager
def their_server(folder: Path) -> Iterator[tuple[int, Callable[[Page], int]]]:
    """node with express-pouchdb over an empty folder; the same two."""
    port = free_port()
    pages = folder / "page"
    pages.mkdir()
    shutil.copy(HERE / "theirs.mjs", pages)
    for name in ("pouchdb.min.js", "pouchdb.indexeddb.min.js"):
        shutil.copy(INSTALLED / "node_modules" / "pouchdb" / "dist" / name, pages)
    scripts = "".join(f'<script src="{name}"></script>' for name in
                      ("pouchdb.min.js", "pouchdb.indexeddb.min.js", "theirs.mjs"))
    (pages / "index.html").write_text(f"<!doctype html><title>Bench</title><body>{scripts}")
    data = folder / "data"
    data.mkdir()
    # Node looks for packages beside the program.
    program = [node(), shutil.copy(HERE / "server.cjs", INSTALLED), str(port), str(data), str(pages)]
    with (folder / "log").open("wb") as log:
        process = subprocess.Popen(program, stdout=log, stderr=log)
    try:
        wait_for(f"http://{HOST}:{port}/db/", folder / "log")
        yield port, lambda page: int(page.evaluate("bench.held()"))
    finally:
        process.terminate()
        process.wait(timeout=15)


def wait_for(address: str, log: Path) -> None:
    until = time.monotonic() + 30
    while time.monotonic() < until:
        try:
            urllib.request.urlopen(address, timeout=2).close()
            return
        except (urllib.error.URLError, OSError):
            time.sleep(0.05)
    raise SystemExit(f"The peer did not start: {log.read_text()[-2000:]}")


class Side:
    """One way of syncing: how its server is started, its page opened, and what its page is asked."""

    def __init__(self, name: str, server: Any, path: str, given: Any, sync: str, nothing: str):
        self.name = name
        self.server = server
        self.path = path
        self.given = given
        self.sync = sync
        self.nothing = nothing


def sides(exams: list[list[dict[str, Any]]]) -> list[Side]:
    token = json.dumps(TOKEN)
    made = [Side("Gelside", our_server, "/", drafts(exams), f"bench.sync({token})", f"bench.nothing({token})")]
    for name, adapter, batch in SETTINGS:
        call = f"bench.sync({batch})"
        path = f"/page/index.html?adapter={adapter}"
        made.append(Side(name, their_server, path, documents(exams), call, call))
    return made


@contextmanager
def opened(playwright: Playwright, options: dict[str, Any], side: Side) -> Iterator[tuple[Page, Line, Any]]:
    """A new store, a new profile, and everything written but nothing sent; the page was closed once since."""
    with tempfile.TemporaryDirectory(prefix="gelside-bench-") as name:
        folder = Path(name)
        (folder / "store").mkdir()
        with side.server(folder / "store") as (port, held):
            line = Line(port)
            browser = playwright.chromium.launch_persistent_context(folder / "profile", **options)
            page = browser.pages[0]
            page.goto(f"http://{HOST}:{line.port}{side.path}")
            page.wait_for_selector("body[data-ready=yes]", state="attached")
            wrote = page.evaluate("(given) => bench.write(given)", side.given)
            page.reload()
            page.wait_for_selector("body[data-ready=yes]", state="attached")
            page.evaluate("bench.wake()")
            line.reset()
            page.wrote = wrote  # type: ignore[attr-defined]
            try:
                yield page, line, held
            finally:
                browser.close()
                line.close()


def processors() -> float:
    """Milliseconds that all processes begun from here (browser, server, the driver between) have spent so far."""
    parents: dict[int, int] = {}
    spent: dict[int, int] = {}
    for folder in Path("/proc").iterdir():
        try:
            fields = (folder / "stat").read_text().rpartition(")")[2].split() if folder.name.isdigit() else []
        except (FileNotFoundError, ProcessLookupError):
            continue  # ended meanwhile
        if fields:
            parents[int(folder.name)] = int(fields[1])
            spent[int(folder.name)] = int(fields[11]) + int(fields[12])
    ours = {os.getpid()}
    while more := {child for child, parent in parents.items() if parent in ours} - ours:
        ours |= more
    return sum(spent[one] for one in ours - {os.getpid()}) * 1000 / os.sysconf("SC_CLK_TCK")


def whole(page: Page, line: Line, held: Any, side: Side, figures: Figures) -> int:
    """First sync, then one with nothing to do; returns how many bytes the first one sent."""
    before = processors()
    done = page.evaluate(side.sync)
    spent = processors() - before
    if done["failed"] or held(page) != EXAMS * ENTRIES:
        raise RuntimeError(f"{side.name}: {done}, {held(page)} held")
    sent, requests = line.bytes_up, line.requests
    times = []
    for _ in range(NOTHING_TIMES):
        line.reset()
        times.append(page.evaluate(side.nothing)["ms"])
    for name, value in (("written locally", page.wrote),  # type: ignore[attr-defined]
                        ("first sync", done["ms"]), ("processors for it", spent),
                        ("requests of it", requests), ("kB sent", sent / 1000),
                        ("nothing to do", statistics.median(times)), ("requests of that", line.requests)):
        figures.setdefault(name, []).append(value)
    return sent


def cut_in_two(page: Page, line: Line, held: Any, side: Side, figures: Figures, half: int) -> None:
    """The line is cut half-way; then the rest."""
    line.cut_after(half)
    broken = page.evaluate(side.sync)
    if not broken["failed"]:
        raise RuntimeError(f"{side.name}: the cut was not noticed")
    line.mend()
    line.reset()
    there = held(page)
    line.reset()
    done = page.evaluate(side.sync)
    if done["failed"] or held(page) != EXAMS * ENTRIES:
        raise RuntimeError(f"{side.name}: {done}, {held(page)} held")
    for name, value in (("held at the cut", there), ("rest after a cut", done["ms"]),
                        ("requests of the rest", line.requests)):
        figures.setdefault(name, []).append(value)


ROWS = ("written locally", "first sync", "processors for it", "requests of it", "kB sent", "nothing to do",
        "requests of that", "held at the cut", "rest after a cut", "requests of the rest")
COMPARED = ("written locally", "first sync", "processors for it", "nothing to do", "rest after a cut")


def table(results: dict[str, Figures], repeats: int) -> None:
    """Medians (least to most), then how many times as long the peer takes."""
    names = list(results)
    print(f"\n{EXAMS} exams of {ENTRIES} entries; median of {repeats} (least to most); times in ms")
    print(f"{'':22}" + "".join(f"{name:>32}" for name in names))
    for row in ROWS:
        cells = []
        for name in names:
            values = results[name][row]
            cells.append(f"{statistics.median(values):,.1f} ({min(values):,.1f} to {max(values):,.1f})")
        print(f"{row:22}" + "".join(f"{cell:>32}" for cell in cells))
    print("\ntimes as long as Gelside")
    for row in COMPARED:
        base = statistics.median(results[names[0]][row])
        print(f"{row:22}{'1':>32}" + "".join(
            f"{statistics.median(results[name][row]) / base:>32.1f}" for name in names[1:]))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--only-ours", action="store_true")
    given = parser.parse_args()
    if not given.only_ours:
        install_peer()
    chosen = sides(entries())[: 1 if given.only_ours else None]
    results: dict[str, Figures] = {side.name: {} for side in chosen}
    load = os.getloadavg()[0]
    with sync_playwright() as playwright:
        options = launch_options(playwright)
        for number in range(1, given.repeats + 1):
            for side in chosen:
                with opened(playwright, options, side) as (page, line, held):
                    sent = whole(page, line, held, side, results[side.name])
                with opened(playwright, options, side) as (page, line, held):
                    cut_in_two(page, line, held, side, results[side.name], sent // 2)
                print(f"{number}/{given.repeats} {side.name}", {k: round(v[-1]) for k, v in results[side.name].items()},
                      flush=True)
    table(results, given.repeats)
    print(f"load before and after: {load:.2f}, {os.getloadavg()[0]:.2f} (2 means both cores of two are taken)")


if __name__ == "__main__":
    main()
