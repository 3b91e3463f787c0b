"""The practice changes its limits while an exam is in hand: its flags keep their version, the next has the new."""

import pytest
from playwright.sync_api import Page, expect

from e2e.conftest import PHONE, KillableBrowser
from e2e.hands import Hands, shot
from e2e.records import phone_entries, store, wait_until
from e2e.servers import Server
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import begin_walk_in, read_both_poles
from webapp.store import desk
from webapp.store.db import open_database
from webapp.store.entries import Act

BEFORE, AFTER = "limits-2026.11.1", "limits-2026.11.1+p1"
OUTSIDE = "outside 6.3 mm: above 5.5 mm (dogs over 5 to 10 kg, LEFT)"
SWITCHED_OFF = {"change": 1, "sources_off": ["s001"], "rows_off": [], "thresholds": {}, "rows": []}


def change_limits(server: Server) -> None:
    """At the desk somebody switches the set off that judges a small dog's glands."""
    db = open_database(server.instance / "gelside.sqlite3")
    body = {"about": "practice.limits", "value": SWITCHED_OFF}
    desk.record(db, [Act("set", body, "VS", "2026-11-24T10:00:00+01:00")])
    db.close()


def hear_of_it(page: Page) -> None:
    """The network comes back: the phone asks at once and knows of the new limits."""
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_until(page, lambda: store(page, "meta").get("practice", {}).get("limits_version") == AFTER)


def assert_judged_as_before(page: Page) -> None:
    expect(page.locator('[data-about="adrenal.left.maximum_thickness"]').first).to_contain_text(OUTSIDE)
    expect(page.locator(f'body[data-limits="{BEFORE}"]')).to_be_attached()


@pytest.mark.catalogue(61)
def test_an_exam_in_hand_keeps_its_limits_through_a_kill_and_the_next_exam_has_the_new_ones(
    killable: KillableBrowser, server: Server, phone_link: str
) -> None:
    page = killable.start(**PHONE)
    page.goto(phone_link)
    wait_for_list(page)
    hands = Hands(page)
    begin_walk_in(hands, "dog", "8.4")
    read_both_poles(hands)
    change_limits(server)
    hear_of_it(page)
    hands.read("adrenal.left.caudal_pole_thickness", "6.3")
    hands.wait_judged()
    assert_judged_as_before(page)
    killable.kill()

    page = killable.start(**PHONE)
    page.goto(server.address)
    expect(page.locator("body[data-screen=resume][data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    hands = Hands(page)
    hands.act("go-on")
    hands.wait_judged()
    assert_judged_as_before(page)
    hands.act("open-sheet")
    hands.act("close-exam")
    expect(page.locator(f'body[data-limits="{AFTER}"][data-engine=ready]')).to_be_attached(timeout=LIST_WITHIN_MS)
    closed = [entry for entry in phone_entries(page) if entry["kind"] == "closed"]
    assert [entry["body"]["limits_version"] for entry in closed] == [BEFORE]

    hands.act("walk-in")
    hands.tap_words("dog")
    hands.keys("8.4")
    hands.act("begin")
    expect(page.locator("body[data-screen=exam]")).to_be_attached()
    read_both_poles(hands)
    line = page.locator('[data-about="adrenal.left.maximum_thickness"]').first
    expect(line).to_be_attached()
    expect(line).not_to_contain_text("5.5 mm")
    shot(page, "limits-after")
