"""An exam from the settings to its end by single taps: nothing is swiped, dragged, held or tapped twice."""

import pytest
from playwright.sync_api import expect

from e2e.conftest import PHONE, NewPage
from e2e.records import phone_entries
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.thumb import Thumb

# Anything that only a moving or a holding finger can bring about is noted and undone. (Two quick taps on one key are a
# double tap to a browser; that nothing listens to it is seen by tests/house/test_gestures.py.)
NO_GESTURES = """
window.gestures = [];
for (const name of ['touchmove', 'dragstart', 'contextmenu', 'wheel'])
  addEventListener(name, (event) => { window.gestures.push(name); event.preventDefault(); },
    { capture: true, passive: false });
"""


@pytest.mark.parametrize("size", [(390, 844), (320, 640)])
def test_everything_on_the_way_is_in_sight_or_one_more_tap_away(
    new_page: NewPage, phone_link: str, size: tuple[int, int]
) -> None:
    page = new_page(**{**PHONE, "viewport": {"width": size[0], "height": size[1]}})
    page.add_init_script(NO_GESTURES)
    page.goto(phone_link)
    wait_for_list(page)
    thumb = Thumb(page)
    thumb.act("settings")
    thumb.tap_words("V. Sorrel")
    thumb.tap_words("bright room")
    thumb.act("limits")
    thumb.act("back")
    thumb.act("back")
    thumb.tap(page.locator("[data-visit]", has_text="Pepper"))
    thumb.tap('[data-tab="sedation"]')
    thumb.act("begin")
    expect(page.locator("body[data-screen=exam][data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    thumb.go("adrenal.left")
    thumb.read("adrenal.left.caudal_pole_thickness", "6.2", "6.4")
    thumb.read("adrenal.left.cranial_pole_thickness", "5.0")
    thumb.not_seen("adrenal.left.phrenicoabdominal_vein", "gas")
    before = thumb.saved()
    thumb.act("finding")
    thumb.tap_words("nodule")
    thumb.tap("[data-site]")
    thumb.tap('[data-size="4"]')
    thumb.tap_words("keeps the capsule")
    thumb.act("finding-done")
    thumb.wait_saved(before + 1)
    thumb.act("more")
    thumb.tap_words("describe it")
    thumb.tap(page.locator(".panel .choice").last)
    thumb.act("describe-done")
    thumb.wait_saved(before + 2)
    thumb.tap(page.locator(".line").first)
    thumb.act("close")
    thumb.go("retroperitoneum")
    thumb.act("not-seen")
    thumb.tap_words("other")
    thumb.act("animal")
    thumb.tap_words("female")
    thumb.act("back")
    thumb.act("open-sheet")
    thumb.tap('[data-answer="partly"]')
    thumb.act("close-exam")
    expect(page.locator("body[data-screen=list]")).to_be_attached()
    assert page.evaluate("window.gestures") == []
    assert {entry["kind"] for entry in phone_entries(page)} >= {"read", "seen", "found", "set", "closed"}
    print(f"{size}: {thumb.onwards} taps to go on of {thumb.taps}")
