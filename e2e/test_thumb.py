"""Whichever thumb types: what is used often lies in its reach, on its side."""

from typing import Any

import pytest
from playwright.sync_api import Page

from e2e.conftest import PHONE, NewPage
from e2e.hands import Hands, shot
from e2e.test_at_the_table import boxes, settled_in
from e2e.test_walk_in import begin_walk_in

# The lower 55 % of 390 x 844.
REACH_FROM = 0.45 * 844
OFTEN = (".keypad .key, .answers .answer, [data-act=say], [data-act=undo], [data-act=skip], [data-act=next], "
         "[data-act=together]")


def at_the_gland(page: Page, link: str, hand: str) -> Hands:
    hands = settled_in(page, link, f"{hand} thumb")
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read("adrenal.left.caudal_pole_thickness", "4.2")
    return hands


def middle(page: Page, selector: str) -> float:
    box: Any = page.locator(selector).first.bounding_box()
    return float(box["x"] + box["width"] / 2)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_what_is_used_often_lies_in_the_lower_55_per_cent(phone: Page, phone_link: str, hand: str) -> None:
    hands = at_the_gland(phone, phone_link, hand)
    shot(phone, f"thumb-{hand}")
    found = boxes(phone, OFTEN)
    assert len(found) == 16 + 4 + 3, "keys (next box is one of them), answers, say, undo and on to the next structure"
    hands.go("free_fluid")
    for words, box in found + boxes(phone, OFTEN):
        assert box["y"] >= REACH_FROM and box["y"] + box["height"] <= 844, words
        assert box["x"] >= 0 and box["x"] + box["width"] <= 390, words


@pytest.mark.parametrize(("hand", "side"), [("right", 1), ("left", -1)])
def test_the_word_keys_stand_on_the_side_of_the_thumb_and_digits_keep_their_order(
    phone: Page, phone_link: str, hand: str, side: int
) -> None:
    at_the_gland(phone, phone_link, hand)
    for act in ("keep", "skip", "erase", "say", "undo", "next"):
        assert (middle(phone, f'[data-act="{act}"]') - 195) * side > 0, act
    for row in ("789", "456", "123", ".0"):
        places = [middle(phone, f'.keypad [data-key="{key}"]') for key in row]
        assert places == sorted(places), row
    # Seen in the order of the page: who goes by keys meets them as they stand.
    order = phone.locator(".keypad .key").evaluate_all("(all) => all.map((one) => one.getBoundingClientRect().x)")
    assert [order[start:start + 4] == sorted(order[start:start + 4]) for start in range(0, 16, 4)] == [True] * 4


def test_turned_the_keys_change_sides_too(new_page: NewPage, phone_link: str) -> None:
    page = new_page(**{**PHONE, "viewport": {"width": 844, "height": 390}})
    hands = at_the_gland(page, phone_link, "left")
    hands.keys("64")
    shot(page, "turned-left-hand")
    assert middle(page, ".keypad") < middle(page, ".here-name")
    assert page.locator("[data-mm]").evaluate("(place) => parseFloat(getComputedStyle(place).fontSize)") >= 64
