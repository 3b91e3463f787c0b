"""A phone that dies without warning has everything it said it had."""

import os
import random
import time

import pytest
from playwright.sync_api import expect

from e2e.between import Between, Fate
from e2e.conftest import PHONE, KillableBrowser
from e2e.hands import Hands
from e2e.records import opened, phone_entries, phone_rows, server_entries, wait_sent, wait_until, write_many
from e2e.servers import Server
from e2e.test_line import EXAM, PATIENT
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import begin_walk_in
from e2e.watch import Watch


def test_list_and_rules_survive_a_killed_browser_without_a_server(
    killable: KillableBrowser, server: Server, phone_link: str
) -> None:
    page = killable.start(**PHONE)
    page.goto(phone_link)
    wait_for_list(page)
    server.stop()
    killable.kill()

    page = killable.start(**PHONE)
    page.goto(server.address)
    wait_for_list(page)
    expect(page.locator("body[data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    assert page.locator("[data-visit]").count() == 12


@pytest.mark.catalogue(35)
def test_phone_killed_while_it_sends_converges_at_the_next_start(
    killable: KillableBrowser, server: Server, between: Between, phone_link: str
) -> None:
    """Four deaths by SIGKILL: with the first request before the server, with its answer on the way back, with the
    second batch on its way, and at a moment of its own choosing. (Every step of it: tests/js/killed.)"""
    page = killable.start(**PHONE)
    page.goto(phone_link.replace(server.address, between.address))
    wait_for_list(page)
    entries = write_many(page, 450, PATIENT, EXAM)
    device = entries[0]["device"]
    fates: list[Fate] = ["cut before", "cut after", "pass", "cut before"]
    for fate in fates:
        between.shut()
        between.fate = lambda number, fate=fate: fate  # type: ignore[misc]
        page.goto(between.address)
        between.wait_for_push()
        killable.kill()
        between.open()
        before = between.pushes
        page = killable.start(**PHONE)
    between.fate = lambda number: "pass"
    page.goto(between.address)
    wait_until(page, lambda: between.pushes > before)
    killable.kill()

    page = killable.start(**PHONE)
    page.goto(between.address)
    wait_sent(page)
    assert server_entries(server, device) == phone_entries(page) == entries
    expect(page.locator('body[data-held="450"][data-own="450"]')).to_be_attached(timeout=LIST_WITHIN_MS)


STEPS = int(os.environ.get("GELSIDE_STEPS", "200"))
STRUCTURES = ("liver", "spleen", "adrenal.left", "adrenal.right", "kidney.left", "aorta")
QUANTITIES = tuple(f"adrenal.{side}.{pole}_pole_thickness" for side in ("left", "right")
                   for pole in ("caudal", "cranial"))


# The second copy is written a moment after "saved"; what was said sooner before a death may be missing in it.
COPIED_WITHIN_S = 2


class ThrownAway(Exception):
    """The browser found its database unreadable and began an empty one; the phone said so."""


class Walk:
    """One exam at the table by chance: readings, undo, other places, a line that fails, and deaths by SIGKILL.

    Two deaths, the first in the middle of a write, make the browser throw its database away (test_second_copy): then
    the phone has to say so and to have what it said, and the walk ends there."""

    def __init__(self, killable: KillableBrowser, between: Between, link: str, seed: int) -> None:
        self.killable, self.between, self.chance = killable, between, random.Random(seed)
        self.said = 0  # entries of the exam that the screen called saved,
        self.said_at: list[tuple[float, int]] = []  # and when
        self.deaths = 0
        self.thrown_away = False
        self.page = killable.start(**PHONE)
        self.page.goto(link)
        wait_for_list(self.page)
        begin_walk_in(Hands(self.page), "dog", "8.4")
        wait_until(self.page, lambda: bool(phone_rows(self.page)))
        self.device = phone_rows(self.page)[0]["device"]

    def step(self) -> None:
        acts = [self.read, self.read_and_die, self.die, self.line, self.online, self.undo, self.go, self.reload]
        act = self.chance.choices(acts, [60, 5, 2, 8, 8, 6, 8, 3])[0]
        print(act.__name__, end=" ")  # the way to a failure
        act()
        if self.page.locator("body[data-screen=exam]").count():
            saved = Hands(self.page).saved()
            assert saved >= self.said, f"{saved} of {self.said} that were said to be saved"
            self.said = saved
            self.said_at.append((time.monotonic(), saved))

    def type(self) -> Hands:
        """A number, which mostly keeps itself, in a box of one of the poles; a row that is full has another box."""
        hands, quantity = Hands(self.page), self.chance.choice(QUANTITIES)
        hands.go(quantity.rpartition(".")[0])
        hands.take_row(quantity)
        self.page.keyboard.type(f"{self.chance.uniform(3, 8):.1f}")
        return hands

    def read(self) -> None:
        before = Hands(self.page).saved()
        hands = self.type()
        # After an undo, whose digits were erased, the box waits for the key.
        hands.keep()
        hands.wait_saved(before + 1)

    def read_and_die(self) -> None:
        self.type()
        self.die()

    def die(self) -> None:
        self.killable.kill()
        self.deaths += 1
        self.died_at = time.monotonic()
        self.page = self.killable.start(**PHONE)
        self.open()

    def copied(self) -> int:
        """So many entries were called saved long enough before the last death to lie in the second copy."""
        return max((many for at, many in self.said_at if at < self.died_at - COPIED_WITHIN_S), default=0)

    def reload(self) -> None:
        self.open()

    def open(self) -> None:
        self.page.goto(self.between.address)
        thrown_away = self.page.locator("[data-taken-back]")
        expect(self.page.locator("body[data-screen=resume]").or_(thrown_away)).to_be_attached(timeout=LIST_WITHIN_MS)
        if thrown_away.count():
            raise ThrownAway
        hands = Hands(self.page)
        hands.act("go-on")
        expect(self.page.locator("body[data-screen=exam]")).to_be_attached()
        expect(self.page.locator(f'body[data-saved="{hands.saved()}"][data-saving="0"]')).to_be_attached()
        # It died over keeping: the digits are there again, and hold the hand until they are kept or, half, erased.
        if self.page.locator(".row.current .box.active").count() and hands.typed():
            if hands.typed().endswith("."):
                self.erase()
                return
            before = hands.saved()
            hands.act("keep")
            hands.wait_saved(before + 1)

    def line(self) -> None:
        fate: Fate = self.chance.choice(["pass", "cut before", "cut after"])
        self.between.fate = lambda number: fate

    def online(self) -> None:
        self.page.evaluate("dispatchEvent(new Event('online'))")

    def undo(self) -> None:
        button = self.page.locator('[data-act="undo"]:not([disabled])')
        if button.count():
            before = Hands(self.page).saved()
            button.first.tap()
            hands = Hands(self.page)
            hands.wait_saved(before + 1)
            # What had kept itself stands in its box again, and holds the hand.
            self.erase()

    def erase(self) -> None:
        hands = Hands(self.page)
        while self.page.locator(".row.current .box.active").count() and hands.typed():
            hands.act("erase")

    def go(self) -> None:
        Hands(self.page).go(self.chance.choice(STRUCTURES))


def walked(walk: Walk, link: str) -> int:
    """Walk to the end; how many entries have to be there then."""
    try:
        for _ in range(STEPS):
            walk.step()
    except ThrownAway:
        walk.thrown_away = True
        walk.between.fate = lambda number: "pass"
        with walk.page.expect_event("load"):  # the app takes the link and starts anew by itself
            walk.page.goto(link)
        return walk.copied()
    assert walk.deaths >= STEPS // 40 and walk.said > STEPS // 3
    walk.between.fate = lambda number: "pass"
    walk.online()
    return walk.said


@pytest.mark.catalogue(1)
@pytest.mark.catalogue(35)
def test_a_walk_of_a_few_hundred_steps_with_deaths_keeps_and_sends_all_it_said(
    killable: KillableBrowser, server: Server, between: Between, phone_link: str, watch: Watch
) -> None:
    """GELSIDE_SEED=n takes another walk."""
    watch.expect("net::ERR_EMPTY_RESPONSE", "net::ERR_CONNECTION_RESET")
    seed, link = int(os.environ.get("GELSIDE_SEED", "20261129")), phone_link.replace(server.address, between.address)
    walk = Walk(killable, between, link, seed)
    wanted = walked(walk, link)
    wait_sent(walk.page)
    entries = server_entries(server, walk.device)
    assert len(entries) >= wanted
    assert [entry["prev"] for entry in entries] == ["0" * 64, *(entry["id"] for entry in entries[:-1])]
    if walk.thrown_away:  # what was sent by then is at the practice alone
        held = [opened(row["header"], row["body"]) for row in phone_rows(walk.page)]
        assert held == entries[len(entries) - len(held):]
    else:
        assert phone_entries(walk.page) == entries
