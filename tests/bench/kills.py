"""Does a browser that is killed at any moment have all it called saved? By hand, for as long as you like.

    .venv/bin/python -m tests.bench.kills --minutes 15

The real app and a seeded server: readings are typed, the whole family of the browser gets SIGKILL at a moment of chance
(in a write, just after one), then up to three starts of the app are killed in their first seconds, and the
next one has to hold every entry that the screen had called saved, in the same folder. Prints counts; a loss ends the
run with status 1 and keeps the profile for a look at its LOG, MANIFEST and QuotaManager.
"""

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Error, Page, Playwright, expect, sync_playwright

from demo import seed
from e2e.browser import launch_options
from e2e.conftest import PHONE
from e2e.hands import Hands
from e2e.records import phone_rows
from e2e.servers import Server, kill_browser
from e2e.test_killed import QUANTITIES
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import begin_walk_in
from webapp import create_app

RESUME = "body[data-screen=resume]"


class Kills:
    """One phone, killed again and again."""

    def __init__(self, playwright: Playwright, profile: Path, server: Server, number: int) -> None:
        self.playwright, self.profile, self.server = playwright, profile, server
        self.options = launch_options(playwright)
        self.chance = random.Random(number)
        self.counts = {"kills in use": 0, "kills of a start": 0, "starts looked at": 0}
        self.said = 0
        self.context: BrowserContext | None = None
        self.page = self.start()
        self.page.goto(f"{server.address}/#phone={seed.PHONE_TOKEN}")
        wait_for_list(self.page)
        begin_walk_in(Hands(self.page), "dog", "8.4")

    def start(self) -> Page:
        self.context = self.playwright.chromium.launch_persistent_context(str(self.profile), **self.options, **PHONE)
        return self.context.pages[0]

    def folders(self) -> dict[str, int]:
        """The databases' folders and which they are: one made anew is another."""
        found = (self.profile / "Default" / "IndexedDB").glob("*.leveldb")
        return {folder.name: folder.stat().st_ino for folder in found}

    def die(self) -> None:
        """Type until the browser is gone."""
        moment = self.chance.choice([0.05, 0.3, 1.0, 2.0]) * self.chance.random()
        gone = threading.Event()

        def kill() -> None:
            time.sleep(moment)
            gone.set()
            kill_browser(self.profile)

        killer = threading.Thread(target=kill)
        killer.start()
        hands = Hands(self.page)
        try:
            while not gone.is_set():
                quantity = self.chance.choice(QUANTITIES)
                hands.go(quantity.rpartition(".")[0])
                hands.take_row(quantity)
                self.page.keyboard.type(f"{self.chance.uniform(3, 8):.1f}")
                self.said = max(self.said, hands.saved())
        except (Error, AssertionError):
            if not gone.is_set():
                raise
        finally:
            killer.join()
        self.counts["kills in use"] += 1
        self.forget()

    def forget(self) -> None:
        assert self.context
        with suppress(Error):  # nobody is there any more to close it
            self.context.close()

    def die_young(self) -> None:
        """A start of the app that does not live for long."""
        program = self.options.get("executable_path") or self.playwright.chromium.executable_path
        begun = subprocess.Popen(
            [program, "--headless", "--remote-debugging-port=0", f"--user-data-dir={self.profile}",
             *self.options["args"], self.server.address], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(self.chance.choice([0.1, 0.4, 0.8, 1.5, 3.0]) * self.chance.random())
        kill_browser(self.profile)
        begun.wait()
        self.counts["kills of a start"] += 1

    def look(self) -> str:
        """Start and compare; what is lost, in words, or nothing."""
        self.page = self.start()
        self.page.goto(self.server.address)
        up = self.page.locator(f"{RESUME}, body[data-screen=list]")
        expect(up).to_be_attached(timeout=LIST_WITHIN_MS)
        self.counts["starts looked at"] += 1
        rows = phone_rows(self.page)
        if [row["seq"] for row in rows] != list(range(1, len(rows) + 1)) or len(rows) < self.said:
            return f"{len(rows)} entries of {self.said} that were called saved"
        expect(self.page.locator(RESUME)).to_be_attached(timeout=LIST_WITHIN_MS)
        hands = Hands(self.page)
        hands.act("go-on")
        expect(self.page.locator("body[data-screen=exam]")).to_be_attached()
        while self.page.locator(".row.current .box.active").count() and hands.typed():
            hands.act("erase")
        return ""

    def round(self) -> str:
        self.die()
        before = self.folders()
        for _ in range(self.chance.choice([0, 0, 1, 1, 2, 3])):
            self.die_young()
        lost = self.look()
        return lost or ("" if self.folders() == before else f"the folder was made anew: {before}, {self.folders()}")


def run(folder: Path, minutes: float, number: int) -> int:
    os.environ["GELSIDE_INSTANCE"] = str(folder / "instance")
    seed.seed(create_app(), date.today().isoformat())
    server = Server(folder / "instance")
    server.start()
    until = time.monotonic() + 60 * minutes
    lost = ""
    try:
        with sync_playwright() as playwright:
            kills = Kills(playwright, folder / "profile", server, number)
            while not lost and time.monotonic() < until:
                lost = kills.round()
            told: dict[str, Any] = kills.counts
            print(", ".join(f"{words} {many}" for words, many in told.items()), f"seed {number}", sep=", ")
            kills.forget()
    finally:
        server.stop()
    print(f"LOST: {lost}; the profile is in {folder / 'profile'}" if lost else "nothing lost")
    return int(bool(lost))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="kills-"))
    (folder / "instance").mkdir()
    failed = run(folder, given.minutes, given.seed)
    if not failed:
        shutil.rmtree(folder)
    return failed


if __name__ == "__main__":
    sys.exit(main())
