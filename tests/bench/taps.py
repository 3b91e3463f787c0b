"""Plays the demo's exams at the phone's own form and counts taps; fails when an exam could not be played to its end.

    .venv/bin/python -m tests.bench.taps [DP01-E1 ...]

What the demo's file says of an exam goes through the form as a walk-in's (no question): readings on the own keypad,
states with their first reason, parts, findings with their size, notes as text that fills its field in one go: the time
to say it is counted nowhere. Places come in the phone's order, as a person's own order of structures would have it;
descriptors, cuts, depth, the preparation and the machine are not entered. Readings are kept as the phone is set at
first: "kept by itself" counts those whose last digit kept them, each a tap fewer than by the key. What could not be
entered stands at the end of its row. "Hands" is an estimate by the keystroke-level model (Card, Moran, Newell 1980):
1.2 s to decide before each place, 0.28 s a tap on a digit, 1.1 s to point at another control. "Played in" is the clock
of this bench, its own waits included: not the program's time.
"""

import sys
import time
from typing import Any

from playwright.sync_api import Page, expect, sync_playwright

from demo import seed
from e2e.browser import launch_options
from e2e.conftest import PHONE
from e2e.hands import Hands
from e2e.servers import demo_server
from webapp import rules

KEY_S, POINT_S, DECIDE_S = 0.28, 1.1, 1.2
PATIENCE_MS = 120_000  # on a busy machine too
STRUCTURES = {row["id"] for row in rules.tables()["catalogue"]["structures"]}
ORDER = [row["id"] for row in rules.tables()["catalogue"]["structures"]]


class Counted(Hands):
    """Hands that know which of their taps were keys, and what they could not enter."""

    keys_tapped = 0
    kept_by_key = 0
    missing: list[str]

    def keys(self, text: str) -> None:
        super().keys(text)
        self.keys_tapped += len(text)

    def keep(self) -> None:
        before = self.taps
        super().keep()
        self.kept_by_key += self.taps - before


def structure_of(about: str) -> str:
    """The structure of a place that may be a part: "pancreas.right_lobe" is the pancreas."""
    while about not in STRUCTURES and "." in about:
        about = about.rpartition(".")[0]
    return about


def begin(hands: Counted, patient: dict[str, Any], exam: dict[str, Any]) -> None:
    """A walk-in with species, weight and sex, as the form offers them; without a request there is no question."""
    page = hands.page
    hands.act("walk-in")
    hands.tap_words(patient["species"])
    if page.locator('[data-choice="V. Sorrel"]').first.get_attribute("aria-pressed") != "true":
        hands.tap_words("V. Sorrel")
    for words in (patient["sex"], "neutered" if patient["neutered"] else "entire"):
        choice = page.locator(f'[data-choice="{words}"]')
        if choice.count():
            hands.tap(choice.first)
    hands.keys(str(exam["weight_kg"]))
    hands.act("begin")
    expect(page.locator("body[data-screen=exam][data-engine=ready]")).to_be_attached(timeout=PATIENCE_MS)


def play(hands: Counted, row: dict[str, Any]) -> None:
    """All that the file says of one place."""
    about = row["about"]
    structure = structure_of(about)
    if hands.body.get_attribute("data-screen") == "open":
        hands.act("back")
    hands.go(structure)
    for reading in row.get("readings", []):
        if reading.get("lesion") and not hands.row(reading["quantity"]).count():
            hands.act("more")
            hands.tap_words("measure a lesion")
            hands.tap_words(f"lesion {reading['lesion'].partition('#')[2]}")
        hands.read(reading["quantity"], *reading["values"])
    for found in row.get("findings", []):
        if found["finding"] != "none":
            size(hands, found)
    if row.get("note"):
        hands.note(row["note"])
    before = hands.saved()
    if about != structure and row["seen"] == "whole" and row.get("readings"):
        return  # a reading of a part says that it was seen: the phone asks no more of it
    if about != structure:
        part(hands, about, row)
    elif row["seen"] == "whole":
        hands.go(structure)
        hands.act("normal")
    elif row["seen"] in ("not_seen", "partly"):
        state(hands, row)
    else:
        hands.act("more")
        words = {"not_visible_expected": "not visible, as expected", "removed": "removed"}.get(row["seen"])
        if words is None:
            hands.missing.append(f"{about}: {row['seen']}")
            hands.act("close")
            return
        hands.tap_words(words)
    expect(hands.page.locator(f'body[data-saved="{before}"]')).to_have_count(0)


def part(hands: Counted, about: str, row: dict[str, Any]) -> None:
    """A place that is a part of its structure."""
    if not hands.page.locator(f'[data-row="{about}"], [data-part="{about}"]').count():
        hands.act("more")
        hands.tap_words("parts one by one")
    if row["seen"] == "whole":
        hands.tap(hands.page.locator(f'[data-seen="{about}"], [data-part="{about}"]').first)
        if hands.page.locator(".panel").count():
            hands.tap_words("seen")
    else:
        hands.not_seen(about, row["why"][0])


def state(hands: Counted, row: dict[str, Any]) -> None:
    """Not seen with its reason, or partly with the parts that were not."""
    if row["seen"] == "not_seen":
        hands.act("not-seen")
        hands.tap_words(row["why"][0])
        return
    hands.act("partly")
    labels = {part["id"]: part["label"] for one in rules.tables()["catalogue"]["structures"]
              if one["id"] == row["about"] for part in one["parts"]}
    for name, seen in row.get("parts", {}).items():
        if seen != "whole":
            hands.tap_words(labels[name])
    hands.tap_words(row["why"][0])
    hands.act("partly-done")


def size(hands: Counted, found: dict[str, Any]) -> None:
    """A finding with its axes."""
    before = hands.saved()
    hands.which_finding(found["finding"].replace("_", " "))
    for place, axis in enumerate(found.get("dimensions", [])[:3]):
        if place:
            hands.act("axis")
        for key in str(axis):
            hands.tap(f'[data-size="{key}"]')
            hands.keys_tapped += 1
    hands.act("finding-done")
    hands.wait_saved(before + 1)


def waited_for(error: Exception) -> str:
    """What the hands looked for in vain, where they say so."""
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return " / ".join([lines[0], *[line for line in lines if "waiting for" in line or "intercepts" in line][:2]])


def one(page: Page, patient: dict[str, Any], exam: dict[str, Any]) -> str:
    """Play one exam; its line of the table."""
    hands = Counted(page)
    page.set_default_timeout(PATIENCE_MS)
    hands.missing = []
    began = time.monotonic()
    begin(hands, patient, exam)
    for row in sorted(exam["structures"], key=lambda row: ORDER.index(structure_of(row["about"]))):
        try:
            play(hands, row)
        except Exception as error:
            raise RuntimeError(f"at {row['about']}: {waited_for(error)}") from error
    if hands.body.get_attribute("data-screen") != "open":
        hands.act("open-sheet")
    hands.act("close-exam")
    taps, took = hands.rest(), time.monotonic() - began
    readings = sum(len(reading["values"]) for row in exam["structures"] for reading in row.get("readings", []))
    estimate = DECIDE_S * len(exam["structures"]) + KEY_S * hands.keys_tapped + POINT_S * (taps - hands.keys_tapped)
    left = f"; not entered: {', '.join(hands.missing)}" if hands.missing else ""
    return (f"| {exam['id']} {patient['name']} | {readings} | {len(exam['structures'])} | {taps} | {hands.keys_tapped} "
            f"| {readings - hands.kept_by_key} | {estimate / 60:.1f} | {took / 60:.1f}{left} |")


def main(wanted: list[str]) -> int:
    """Print the table; 1 when an exam was not played to its end."""
    failed = 0
    with demo_server() as server, sync_playwright() as playwright:
        browser = playwright.chromium.launch(**launch_options(playwright))
        print("| exam | readings | places | taps | of them digits | kept by itself | hands, min (estimate) "
              "| played in, min |\n| --- | --- | --- | --- | --- | --- | --- | --- |")
        for patient, exam in seed.exams():
            if wanted and exam["id"] not in wanted:
                continue
            page = browser.new_context(**PHONE).new_page()
            try:
                page.goto(f"{server.address}/#phone={seed.PHONE_TOKEN}", timeout=PATIENCE_MS)
                expect(page.locator("[data-visit]")).to_have_count(12, timeout=PATIENCE_MS)
                print(one(page, patient, exam), flush=True)
            except Exception as error:  # one exam that cannot be played is told, the others go on
                failed = 1
                print(f"| {exam['id']} {patient['name']} | not played to its end: {error} |")
            page.context.close()
        browser.close()
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
