"""A length keeps itself at its last digit: a slip costs no more than by the key, a digit too many is no reading."""

import pytest
from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.records import phone_entries, readings
from e2e.test_at_the_table import settled_in
from e2e.test_walk_in import begin_walk_in

CAUDAL = "adrenal.left.caudal_pole_thickness"
CRANIAL = "adrenal.left.cranial_pole_thickness"


def at_the_gland(phone: Page, link: str, *settings: str) -> Hands:
    hands = settled_in(phone, link, *settings)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    return hands


def kinds(hands: Hands) -> list[str]:
    return [entry["kind"] for entry in phone_entries(hands.page)]


@pytest.mark.parametrize("setting", ["by the keep key", "by its last digit"])
def test_a_slip_of_the_last_digit_is_mended_by_the_same_three_taps(phone: Page, phone_link: str, setting: str) -> None:
    hands = at_the_gland(phone, phone_link, setting)
    hands.keys("6.3")
    hands.rest()
    hands.act("erase")
    hands.keys("2")
    assert hands.typed() == "6.2", "what was taken back waits for the key"
    hands.act("keep")
    assert hands.rest() == 3
    expect(hands.row(CAUDAL).locator(".box.kept:not(.struck)")).to_have_text(["6.2"])
    hands.wait_judged()
    assert readings(phone_entries(phone), CAUDAL)[-1] == ("6.2", "6.2")
    assert kinds(hands) == (["opened", "read"] if "key" in setting else ["opened", "read", "struck", "read"])


@pytest.mark.parametrize("back", ["erase", "undo"])
def test_a_number_begun_on_an_emptied_box_keeps_itself_again(phone: Page, phone_link: str, back: str) -> None:
    """What is mended in its box waits for the key; what begins in an empty one is a number like any other."""
    hands = at_the_gland(phone, phone_link)
    hands.keys("6.3")
    hands.wait_saved(2)
    hands.act(back)
    hands.wait_saved(3)
    while hands.typed():
        hands.act("erase")
    hands.act("erase")
    assert kinds(hands) == ["opened", "read", "struck"], "one tap too many takes nothing more back"
    hands.keys("5.8")
    hands.wait_saved(4)
    hands.keys("6.0")
    hands.wait_saved(5)
    assert [one for one, _ in readings(phone_entries(phone), CAUDAL)] == ["6.3", "5.8", "6.0"]


def test_a_number_taken_back_does_not_keep_itself_when_typed_again(phone: Page, phone_link: str) -> None:
    """A machine that shows two places: all erased, 6.24 is typed anew, and 6.2 of it is not kept once more."""
    hands = at_the_gland(phone, phone_link)
    hands.keys("6.24")
    hands.wait_saved(2)
    for _ in "4" + "2":
        hands.act("erase")
    hands.wait_saved(3)
    while hands.typed():
        hands.act("erase")
    hands.keys("6.2")
    assert hands.typed() == "6.2" and kinds(hands) == ["opened", "read", "struck"]
    hands.keys("4")
    hands.act("keep")
    hands.wait_saved(4)
    hands.keys("6.2")
    hands.wait_saved(5)
    assert [one for one, _ in readings(phone_entries(phone), CAUDAL)] == ["6.2", "6.24", "6.2"]


def test_undo_brings_the_digits_back_to_be_stepped_or_typed_on(phone: Page, phone_link: str) -> None:
    """A machine that shows two places: 6.24 is typed on behind what came back, and is kept as it is."""
    hands = at_the_gland(phone, phone_link)
    hands.keys("6.2")
    hands.wait_saved(2)
    hands.act("undo")
    assert hands.typed() == "6.2"
    hands.wait_saved(3)
    hands.tap('[data-step="+0.1"]')
    hands.tap('[data-step="-0.1"]')
    hands.keys("4")
    shot(phone, "self-keep-back")
    hands.act("keep")
    hands.wait_saved(4)
    assert readings(phone_entries(phone), CAUDAL) == [("6.2", "6.2"), ("6.24", "6.24")]
    hands.keys("6.1")
    hands.wait_saved(5)


def test_the_key_out_of_habit_keeps_nothing_and_complains_of_nothing(phone: Page, phone_link: str) -> None:
    hands = at_the_gland(phone, phone_link)
    hands.keys("6.2")
    hands.act("keep")
    hands.wait_saved(2)
    expect(phone.locator(".echo.problem")).to_have_count(0)
    expect(phone.locator("[data-kept=yes]")).to_be_visible()
    assert kinds(hands) == ["opened", "read"]


@pytest.mark.catalogue(24)
def test_a_digit_too_many_is_asked_about_and_never_becomes_a_reading_by_itself(phone: Page, phone_link: str) -> None:
    hands = at_the_gland(phone, phone_link)
    hands.keys("2.41")
    hands.wait_saved(2)
    assert hands.typed() == "1"
    for act in ("keep", "normal"):
        hands.act(act)
        expect(phone.locator("[data-asking]")).to_have_text(
            "1 mm? Mostly 2 to 12 mm here. 2.4 kept itself just before: is this its next digit?")
        assert hands.saved() == 2 and hands.structure() == "adrenal.left"
    shot(phone, "self-keep-stray")
    # Typed on as if it were nothing: 12.0 would pass for a thick gland.
    hands.keys("2.0")
    assert hands.typed() == "12.0" and hands.saved() == 2
    hands.act("keep")
    expect(phone.locator("[data-asking]")).to_have_text(
        "12.0, a reading of its own? 2.4 kept itself just before: is this its next digit?")
    for _ in "12.0":
        hands.act("erase")
    hands.act("erase")
    assert hands.typed() == "2."
    hands.wait_saved(3)
    assert readings(phone_entries(phone), CAUDAL) == [("2.4", "2.4")] and kinds(hands)[-1] == "struck"


def test_a_gland_that_passes_ten_keeps_itself_and_a_chosen_box_begins_anew(phone: Page, phone_link: str) -> None:
    hands = at_the_gland(phone, phone_link)
    hands.read(CAUDAL, "9.8")
    hands.rest()
    hands.keys("10.2")
    hands.wait_saved(3)
    assert hands.rest() == 4
    hands.tap(hands.row(CRANIAL).locator(".box").first)
    hands.keys("6")
    hands.act("keep")
    hands.wait_saved(4)
    assert readings(phone_entries(phone), CRANIAL) == [("6", "6")]


def test_what_opened_between_two_numbers_makes_the_next_one_its_own(phone: Page, phone_link: str) -> None:
    hands = at_the_gland(phone, phone_link)
    hands.read(CAUDAL, "4.2")
    hands.act("more")
    hands.tap_words("image numbers")
    hands.act("close")
    hands.keys("12.0")
    hands.wait_saved(3)
    assert readings(phone_entries(phone), CAUDAL)[-1] == ("12.0", "12.0")


def test_a_length_of_no_known_size_and_a_whole_number_wait_for_the_key(phone: Page, phone_link: str) -> None:
    hands = at_the_gland(phone, phone_link)
    hands.keys("62")
    assert hands.typed() == "62" and kinds(hands) == ["opened"]
    for _ in "62":
        hands.act("erase")
    hands.go("bladder")
    hands.take_row("bladder.length")
    hands.keys("38.4")
    assert hands.typed() == "38.4" and kinds(hands) == ["opened"]
    hands.act("keep")
    hands.wait_saved(2)
