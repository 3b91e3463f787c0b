"""Words and places of an organ: a lesion put on the sketch, found again, described, and a gland that is one mass."""

import pytest
from playwright.sync_api import Page, expect

from e2e.conftest import NewPage
from e2e.hands import Hands, shot
from e2e.servers import Server
from e2e.test_start import wait_for_list

SMALL = {"viewport": {"width": 320, "height": 640}, "has_touch": True, "is_mobile": True, "color_scheme": "dark"}


def begun(page: Page, link: str, structure: str) -> Hands:
    page.goto(link)
    wait_for_list(page)
    hands = Hands(page)
    hands.begin_visit("Pepper")
    hands.go(structure)
    return hands


def test_a_lesion_is_placed_by_one_tap_numbered_and_given_its_picture(
    server: Server, phone: Page, phone_link: str
) -> None:
    hands = begun(phone, phone_link, "spleen")
    hands.rest()
    hands.act("finding")
    hands.tap_words("nodule")
    hands.tap('[data-site="tail, caudal edge"]')
    for key in "9":
        hands.tap(f'[data-size="{key}"]')
    hands.tap_words("type the number")
    for digit in "14":
        hands.tap(f'[data-small-key="{digit}"]')
    hands.act("image-done")
    shot(phone, "sketch")
    before = hands.saved()
    hands.act("finding-done")
    hands.wait_saved(before + 1)
    assert hands.rest() == 9, "finding, what, where, a digit, four for the picture's number, keep"
    expect(phone.locator(".said-row")).to_contain_text("nodule 1 9 mm, tail, caudal edge")
    hands.wait_judged()
    expect(phone.locator("[data-sentence]")).to_contain_text("Nodule 1, 9 mm, tail, caudal edge, image 14.")

    hands.act("finding")
    hands.tap_words("nodule")
    expect(phone.locator('[data-choice="2"][aria-pressed=true]')).to_be_visible()
    hands.tap_words("image 15")
    hands.act("finding-done")
    hands.wait_saved(before + 2)
    hands.wait_judged()
    hands.act("more")
    hands.tap_words("describe it")
    hands.tap_words("mottled")
    hands.tap_words("coarse")
    shot(phone, "describe")
    hands.act("describe-done")
    hands.wait_saved(before + 3)
    hands.wait_judged()
    expect(phone.locator("[data-sentence]")).to_contain_text("texture: mottled and coarse", ignore_case=True)


def test_a_gland_that_is_one_mass_is_not_asked_for_its_poles(server: Server, phone: Page, phone_link: str) -> None:
    hands = begun(phone, phone_link, "adrenal.right")
    hands.act("more")
    hands.tap_words("a mass, poles not told apart")
    hands.tap('[data-size="2"]')
    hands.tap('[data-size="4"]')
    hands.act("axis")
    hands.tap('[data-size="1"]')
    hands.tap('[data-size="8"]')
    before = hands.saved()
    hands.act("finding-done")
    hands.wait_saved(before + 1)
    hands.wait_judged()
    hands.act("open-sheet")
    sheet = phone.locator("main, .page, #app").first
    expect(sheet).not_to_contain_text("RIGHT adrenal, cranial pole")
    shot(phone, "mass-sheet")


@pytest.mark.parametrize("structure", ["adrenal.left", "bladder"])
def test_the_sketch_fits_the_smallest_screen(new_page: NewPage, phone_link: str, structure: str) -> None:
    page = new_page(**SMALL)
    hands = begun(page, phone_link, structure)
    hands.which_finding("cyst")
    fields = page.locator(".sketch-field")
    assert fields.count() == 9
    for box in (fields.nth(number).bounding_box() for number in range(9)):
        assert box is not None and box["width"] >= 44 and box["height"] >= 44
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    fields.first.scroll_into_view_if_needed()
    shot(page, f"sketch-320-{structure}")


def test_findings_that_fit_the_organ_lie_at_the_thumb_and_the_others_one_tap_further(
    phone: Page, phone_link: str
) -> None:
    hands = begun(phone, phone_link, "adrenal.left")
    hands.act("finding")
    choices = phone.locator(".panel .choices .choice")
    expect(choices).to_have_text(
        ["mass", "nodule", "cyst", "mineral", "enlarged", "small", "irregular", "bright", "dark", "more findings"])
    for place in range(10):
        box = choices.nth(place).bounding_box()
        assert box and box["y"] >= 0.45 * 844 and box["y"] + box["height"] <= 844
    shot(phone, "findings-first")
    hands.act("more-findings")
    expect(choices).to_have_count(26)
    shot(phone, "findings-all")
    hands.tap_words("displaced")
    before = hands.saved()
    hands.act("finding-done")
    hands.wait_saved(before + 1)
    expect(phone.locator(".said-row")).to_contain_text("displaced")
    hands.go("jejunum")
    hands.act("finding")
    expect(phone.locator('[data-choice="intussusception"]')).to_be_visible()
    shot(phone, "findings-bowel")
