"""One sentence on each screen: there the first time, gone the second, and always where that is wanted."""

from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in


def told(page: Page, name: str) -> int:
    return page.locator(f'[data-help="{name}"]').count()


def test_a_screen_says_what_it_is_for_once_and_again_on_demand(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    expect(phone.locator('[data-help="list"]')).to_have_text(
        "Tap an animal to begin its exam or to go on; a walk-in is one that is not on this list.")
    shot(phone, "help-list")
    begin_walk_in(hands, "dog", "8.4")
    expect(phone.locator('[data-help="exam"]')).to_be_attached()
    hands.act("finding")
    expect(phone.locator('[data-help="finding"]')).to_be_visible()
    hands.act("close")
    for act, name in (("all", "all"), ("open-sheet", "open"), ("animal", "animal")):
        hands.act(act)
        assert told(phone, name) == 1, name
        hands.act("back")
    for act, name in (("all", "all"), ("open-sheet", "open"), ("animal", "animal")):
        hands.act(act)
        expect(phone.locator(f"body[data-screen={name}]")).to_be_attached()
        assert told(phone, name) == 0, f"{name}: read once is enough"
        hands.act("back")
    assert told(phone, "exam") == 0
    hands.leave()
    phone.reload()
    wait_for_any_list(phone)
    assert told(phone, "list") == 0, "also after a new start"
    hands.act("settings")
    hands.tap_words("always")
    hands.act("back")
    expect(phone.locator('[data-help="list"]')).to_be_visible()


def wait_for_any_list(page: Page) -> None:
    expect(page.locator("body[data-screen=list]")).to_be_attached()
    expect(page.locator("[data-visit]").first).to_be_visible()
