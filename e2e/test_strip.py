"""The button that goes on down a long page lies on a strip of its own: nothing that is tapped or read lies under it."""

import pytest
from playwright.sync_api import expect

from e2e.conftest import PHONE, NewPage
from e2e.hands import Hands, shot
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in

PAGES = {"sheet": ["open-sheet"], "animal": ["animal"], "move": ["animal", "wrong-animal"],
         "settings": ["leave", "settings"]}
# Whatever is partly under the button though the rest of it is beside: a corner of a row, a word of it.
UNDER = """
() => {
  const on = document.querySelector('.further').getBoundingClientRect();
  return [...document.querySelectorAll('.page button, .page p, .page h2, .page label')].filter((one) => {
    const box = one.getBoundingClientRect();
    const beside = box.left < on.left - 1 || box.right > on.right + 1;
    const over = box.bottom > on.top + 1 && box.top < on.bottom - 1 && box.right > on.left && box.left < on.right;
    return one.offsetParent && over && beside;
  }).map((one) => one.textContent.trim().slice(0, 40));
}
"""
AT_THE_END = """
() => {
  const on = document.querySelector('.further').getBoundingClientRect();
  return [...document.querySelectorAll('.page button, .page p')].filter((one) => {
    const box = one.getBoundingClientRect();
    return one.offsetParent && !one.classList.contains('further') && box.bottom > on.top + 1 && box.top < on.bottom - 1;
  }).map((one) => one.textContent.trim().slice(0, 40));
}
"""


@pytest.mark.parametrize("size", [(390, 844), (320, 640)])
def test_nothing_is_tapped_or_read_under_the_button_that_goes_on(
    new_page: NewPage, phone_link: str, size: tuple[int, int]
) -> None:
    page = new_page(**{**PHONE, "viewport": {"width": size[0], "height": size[1]}})
    page.goto(phone_link)
    wait_for_list(page)
    hands = Hands(page)
    begin_walk_in(hands, "dog", "8.4")
    for name, acts in PAGES.items():
        for act in acts:
            hands.act(act)
        on = page.locator(".further")
        expect(on).to_be_visible()
        box = on.bounding_box()
        assert box is not None and min(box["width"], box["height"]) >= 44
        for _ in range(3):
            assert page.evaluate(UNDER) == [], name
            hands.tap(on)
        page.evaluate("scrollTo(0, 1e6)")
        shot(page, f"strip-{name}-{size[0]}")
        assert page.evaluate(AT_THE_END) == [], name
        hands.act("back")


def test_a_page_as_high_as_the_screen_stands_still_over_a_home_bar(new_page: NewPage, phone_link: str) -> None:
    """Where the phone keeps room at its lower edge, the strip coming and going must not change what calls for it."""
    page = new_page(**PHONE)
    edge = page.context.new_cdp_session(page)
    edge.send("Emulation.setSafeAreaInsetsOverride", {"insets": {"bottom": 34, "bottomMax": 34}})
    page.goto(phone_link)
    wait_for_list(page)
    hands = Hands(page)
    begin_walk_in(hands, "dog", "8.4")
    hands.act("animal")
    hands.act("wrong-animal")
    expect(page.locator("[data-move-to]").first).to_be_visible()
    assert page.evaluate("parseFloat(getComputedStyle(document.querySelector('.ends')).paddingBottom)") >= 8
    page.set_viewport_size({"width": 390, "height": 3000})
    high = page.evaluate("document.querySelector('.ends').getBoundingClientRect().bottom + scrollY")
    for less in range(-40, 60, 10):
        page.set_viewport_size({"width": 390, "height": round(high) - less})
        stands = [page.evaluate(
            "() => { dispatchEvent(new Event('resize')); return document.body.classList.contains('goes-on'); }"
        ) for _ in range(4)]
        assert len(set(stands)) == 1, (less, stands)
