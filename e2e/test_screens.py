"""The form on small, turned and enlarged screens: nothing is cut off, numbers can be read from a step away."""

from typing import Any

import pytest
from playwright.sync_api import expect

from e2e.conftest import PHONE, NewPage
from e2e.hands import Hands, shot
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in

CAUDAL = "adrenal.left.caudal_pole_thickness"
SIZES = {"usual": (390, 844), "small": (360, 640), "narrow": (320, 640), "turned": (844, 390)}
SCREENS = {"all": "all", "sheet": "open-sheet", "animal": "animal"}


def options(size: str) -> dict[str, Any]:
    width, height = SIZES[size]
    return {**PHONE, "viewport": {"width": width, "height": height}, "device_scale_factor": 1}


@pytest.mark.parametrize("size", SIZES)
def test_every_key_can_be_reached_and_nothing_is_wider_than_the_screen(
    new_page: NewPage, phone_link: str, size: str
) -> None:
    page = new_page(**options(size))
    width = SIZES[size][0]
    page.goto(phone_link)
    wait_for_list(page)
    hands = Hands(page)
    shot(page, f"list-{size}")
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read(CAUDAL, "6.2")
    hands.wait_judged()
    hands.keys("6")
    hands.tap('[data-step="+0.1"]')
    expect(page.locator("[data-mm]")).to_have_text("6.1 mm")
    expect(page.locator("[data-cm]")).to_have_text("0.61 cm")
    shot(page, f"typed-{size}")
    for key in page.locator(".keypad .key, .step-key, .answer").all():
        box = key.bounding_box()
        assert box is not None and box["width"] >= 44 and box["height"] >= 44, key
        assert box["x"] >= 0 and box["x"] + box["width"] <= width
    hands.act("keep")
    hands.wait_saved(3)
    assert hands.boxes(CAUDAL) == ["6.2", "6.1"]
    for name, act in SCREENS.items():
        hands.act(act)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        shot(page, f"{name}-{size}")
        hands.act("back")


def at_a_gland(new_page: NewPage, phone_link: str, size: str) -> Hands:
    """A walk-in's exam on a screen of this size, at the left adrenal gland."""
    page = new_page(**options(size))
    page.goto(phone_link)
    wait_for_list(page)
    hands = Hands(page)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    return hands


@pytest.mark.parametrize("size", ["small", "narrow"])
def test_on_a_short_screen_both_poles_stand_above_the_keys(new_page: NewPage, phone_link: str, size: str) -> None:
    hands = at_a_gland(new_page, phone_link, size)
    page = hands.page
    hands.act("animal")
    hands.act("back")
    hands.read(CAUDAL, "6.2")
    hands.wait_judged()
    shot(page, f"short-{size}")
    rows = page.locator(".rows").bounding_box()
    assert rows is not None
    for quantity in (CAUDAL, CAUDAL.replace("caudal", "cranial")):
        for box in hands.row(quantity).locator(".box").all():
            place = box.bounding_box()
            assert place is not None, quantity
            assert rows["y"] <= place["y"] and place["y"] + 44 <= rows["y"] + rows["height"], quantity


def test_turned_beside_the_machine_all_keys_and_answers_are_in_sight(new_page: NewPage, phone_link: str) -> None:
    hands = at_a_gland(new_page, phone_link, "turned")
    page = hands.page
    hands.read(CAUDAL, "6.2")
    for key in page.locator(".keypad .key, .answers .answer, [data-act=next]").all():
        box = key.bounding_box()
        assert box is not None and box["y"] >= 0 and box["y"] + box["height"] <= SIZES["turned"][1], key.inner_text()


def test_turned_beside_the_machine_the_last_value_is_large(new_page: NewPage, phone_link: str) -> None:
    """Read from 60 to 80 cm: 64 CSS px are about 10 mm on a phone, an angle of three quarters of a degree and more."""
    hands = at_a_gland(new_page, phone_link, "turned")
    page = hands.page
    hands.keys("64")
    size = page.locator("[data-mm]").evaluate("(place) => parseFloat(getComputedStyle(place).fontSize)")
    assert size >= 64
    expect(page.locator(".echo-side")).to_have_text("LEFT")
    expect(page.locator(".echo-side")).to_be_visible()
    shot(page, "turned-typed")
    left, right = page.locator(".here-name").bounding_box(), page.locator(".keypad").bounding_box()
    assert left is not None and right is not None and right["x"] > left["x"] + left["width"]
