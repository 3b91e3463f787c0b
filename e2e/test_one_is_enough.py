"""One reading instead of two: a person says why, the hand goes on, and the practice reads it."""

from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.records import phone_entries
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in

CAUDAL = "adrenal.left.caudal_pole_thickness"
CRANIAL = "adrenal.left.cranial_pole_thickness"


def test_one_reading_with_a_reason_in_two_taps_gives_the_keys_to_the_next_row(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    expect(phone.locator("[data-enough]")).to_have_count(0)
    hands.read(CAUDAL, "4.2")
    shot(phone, "one-is-enough")
    hands.rest()
    hands.tap(f'[data-enough="{CAUDAL}"]')
    hands.tap_words("will not hold still")
    assert hands.rest() == 2
    hands.wait_saved(3)
    expect(phone.locator(f'[data-one="{CAUDAL}"]')).to_have_text("one reading: will not hold still")
    expect(phone.locator(f'.row.current[data-row="{CRANIAL}"]')).to_be_attached()
    entries = phone_entries(phone)
    assert entries[-1]["kind"] == "acknowledged" and entries[-1]["of"] == [entries[-2]["id"]]
    assert entries[-1]["body"] == {"about": CAUDAL, "flag": "one_reading", "reason": "will not hold still"}
    hands.act("undo")
    hands.wait_saved(4)
    expect(phone.locator("[data-one]")).to_have_count(0)
