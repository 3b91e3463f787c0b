"""Measuring twice on the phone: pairs that belong to no animal teach a person's own spread."""

from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.test_start import wait_for_list


def keep(hands: Hands, value: str, pair: int, reading: int) -> None:
    """One reading; the screen then asks for the given place."""
    hands.keys(value)
    hands.act("keep")
    expect(hands.page.locator(f'[data-pair="{pair}"][data-reading="{reading}"]')).to_be_visible()


def test_pairs_teach_and_belong_to_nobody(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    visits = phone.locator("[data-visit]").count()
    hands.act("settings")
    hands.tap_words("V. Sorrel")
    hands.act("measure-twice")
    hands.tap_words("LEFT adrenal")
    hands.tap(phone.locator('[data-choice="LEFT adrenal, caudal pole thickness"]'))
    keep(hands, "6.2", 1, 2)
    # The first reading is covered until the second is in.
    assert "6.2" not in phone.locator(".twice").inner_text()
    keep(hands, "6.5", 2, 1)
    expect(phone.locator('[data-taken="1"]')).to_have_text("pair 1: 6.2 and 6.5 mm")
    expect(phone.locator('[data-spread="here"]')).to_contain_text("SD 0.21, 1 degrees of freedom")
    expect(phone.locator('[data-spread="here"]')).to_contain_text("not enough readings yet: 1 of 20")
    shot(phone, "measure-twice")
    hands.keys("64")
    hands.act("keep")
    expect(phone.locator(".echo.asking, .echo.problem")).to_be_visible()
    hands.tap('[data-act="erase"]')
    hands.tap('[data-act="erase"]')
    hands.act("twice-strike")
    expect(phone.locator('[data-pair="1"][data-reading="2"]')).to_be_visible()
    hands.act("twice-done")
    hands.send_from_settings()
    hands.act("back")
    expect(phone.locator("[data-visit]")).to_have_count(visits)
