"""Every screen in both themes, as it is, zoomed, with large text: nothing that axe names, numbers at 7:1."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from e2e.conftest import PHONE, NewPage
from e2e.hands import Hands, shot
from e2e.test_accessible import faults
from e2e.test_at_the_table import settled_in
from e2e.test_photos import camera, taken
from e2e.test_walk_in import begin_walk_in

CAUDAL = "adrenal.left.caudal_pole_thickness"
# Width, height, dots of a pixel, size of the text. A browser's own zoom of 200 % gives a page half as many CSS pixels;
# its text size leaves them and makes the root's font larger.
WAYS = {"as it is": (390, 844, 1, 100), "zoomed": (195, 422, 2, 100), "large text": (390, 844, 1, 200)}
LARGE_TEXT = "addEventListener('DOMContentLoaded', () => { document.documentElement.style.fontSize = '200%'; })"
# Controls that lie over each other, and words that run out of theirs; what is cut on purpose ends in an ellipsis.
CROWDED = """
() => {
  const all = [...document.querySelectorAll('button, input, textarea, summary')].filter((one) => one.checkVisibility()
    && !one.closest('.further, .ends') && !one.classList.contains('further'));
  const name = (one) => (one.getAttribute('aria-label') || one.textContent.trim()).slice(0, 30);
  const found = all.filter((one) => one.tagName === 'BUTTON' && getComputedStyle(one).textOverflow !== 'ellipsis'
    && one.scrollWidth > one.clientWidth + 2).map((one) => `cut: ${name(one)}`);
  all.forEach((a, place) => all.slice(place + 1).forEach((b) => {
    if (a.contains(b) || b.contains(a)) return;
    const [p, q] = [a.getBoundingClientRect(), b.getBoundingClientRect()];
    const x = Math.min(p.right, q.right) - Math.max(p.left, q.left);
    const y = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
    if (x > 1 && y > 1) found.push(`over each other: ${name(a)}, ${name(b)}`);
  }));
  return found;
}
"""
LEAST_FOR_NUMBERS = 7.0

# Contrast of each element's own colour against the nearest ground that is painted behind it, by WCAG's formula.
CONTRASTS = """
(selector) => [...document.querySelectorAll(selector)].filter((one) => one.offsetParent && one.textContent.trim())
  .map((one) => {
  const parts = (text) => text.match(/[0-9.]+/g).map(Number);
  const light = ([red, green, blue]) => [red, green, blue].map((part) => part / 255)
    .map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4))
    .reduce((sum, part, place) => sum + part * [0.2126, 0.7152, 0.0722][place], 0);
  let behind = one;
  while (behind && (parts(getComputedStyle(behind).backgroundColor)[3] ?? 1) === 0) behind = behind.parentElement;
  const ground = getComputedStyle(behind || document.documentElement).backgroundColor;
  const pair = [light(parts(getComputedStyle(one).color)), light(parts(ground))].sort((a, b) => b - a);
  return [one.textContent.trim().slice(0, 30), Math.round(100 * (pair[0] + 0.05) / (pair[1] + 0.05)) / 100];
})
"""
NUMBERS = (".echo-big, .echo-cm, .box, .calc, .before, .key:not(.word), .step-key, .offer, .size-typed, .progress, "
           ".visit-time, .visit-who")


def poor(page: Page) -> list[Any]:
    return [found for found in page.evaluate(CONTRASTS, NUMBERS) if found[1] < LEAST_FOR_NUMBERS]


class Looking:
    """Looks at a screen: nothing that axe names, nothing wider than the screen, numbers that stand out."""

    def __init__(self, page: Page, name: str, width: int) -> None:
        self.page, self.name, self.width = page, name, width
        self.seen: list[str] = []
        self.found: list[str] = []

    def faults(self) -> list[str]:
        """A page is looked at as long as it is: what its bar at the edge covers for the moment is no small target."""
        size = self.page.viewport_size
        assert size is not None
        if self.page.locator("body:not(.narrow) .exam").count():
            return faults(self.page)
        self.page.set_viewport_size({"width": size["width"], "height": 9000})
        found = faults(self.page)
        self.page.set_viewport_size(size)
        return found

    def __call__(self, screen: str) -> None:
        shot(self.page, f"access-{self.name}-{screen}")
        self.seen.append(screen)
        self.found += [f"{screen}: {fault}" for fault in self.faults()]
        self.found += [f"{screen}: contrast {words!r} {ratio}" for words, ratio in poor(self.page)]
        if "text" in self.name:
            self.found += [f"{screen}: {words}" for words in self.page.evaluate(CROWDED)]
        wide = self.page.evaluate("document.documentElement.scrollWidth")
        if wide > self.width:
            self.found.append(f"{screen}: {wide} px wide")


def exam(hands: Hands, look: Looking) -> None:
    page = hands.page
    begin_walk_in(hands, "dog", "8.4")
    look("exam")
    hands.go("adrenal.left")
    hands.read(CAUDAL, "6.2", "8.4")
    hands.wait_judged()
    hands.keys("51")
    look("exam-typed")
    for _ in "51":
        hands.act("erase")
    hands.keys("620")
    hands.act("keep")
    expect(page.locator("[data-asking]")).to_be_visible()
    look("exam-asked")
    for _ in "620":
        hands.act("erase")
    for act in ("finding", "partly", "not-seen", "say", "more"):
        hands.act(act)
        look(act)
        if act != "more":
            hands.act("close")
    hands.tap_words("describe it")
    look("describe")
    hands.act("close")
    hands.act("more")
    hands.tap_words("how it was read")
    look("how")
    hands.act("close")
    taken(hands, camera(page))
    hands.tap("[data-attached]")
    expect(page.locator("img.shown")).to_be_visible()
    look("photo")
    hands.act("close")
    hands.tap(page.locator(".line").first)
    look("line")
    hands.act("close")


def around(hands: Hands, look: Looking) -> None:
    for act, name in (("all", "all"), ("open-sheet", "sheet"), ("animal", "animal")):
        hands.act(act)
        look(name)
        hands.act("back")
    hands.page.reload()
    expect(hands.page.locator("body[data-screen=resume]")).to_be_attached(timeout=20_000)
    look("resume")
    hands.act("go-on")
    hands.act("animal")
    hands.act("wrong-animal")
    look("move")
    hands.act("back")
    if hands.body.get_attribute("data-screen") != "exam":
        hands.act("back")
    hands.act("open-sheet")
    hands.act("close-exam")


def beside(hands: Hands, look: Looking) -> None:
    page = hands.page
    hands.tap(page.locator("[data-visit]", has_text="Pepper"))
    look("start")
    hands.act("back")
    hands.act("settings")
    look("settings")
    hands.act("limits")
    expect(page.locator(".limit-row").first).to_be_visible()
    look("limits")
    hands.act("back")
    hands.act("measure-twice")
    look("twice")
    hands.act("twice-done")
    hands.tap(page.locator('[data-choice^="pair this phone"]'))
    look("pair")
    hands.act("back")
    hands.act("settings")
    hands.tap_words("set a PIN")
    look("pin")
    for _ in ("once", "again"):
        hands.keys("2468")
        hands.act("pin-done")
    # All that lies on the phone is sealed first, which takes its time on a busy machine.
    expect(page.locator("body[data-screen=list]")).to_be_attached(timeout=90_000)
    hands.act("settings")
    hands.tap_words("lock now")
    expect(page.locator("body[data-screen=locked]")).to_be_attached()
    look("locked")


def every_screen(page: Page, link: str, theme: str, name: str) -> Looking:
    width = page.evaluate("innerWidth")
    hands = settled_in(page, link, f"{theme} room")
    look = Looking(page, f"{theme}-{name}", width)
    look("list")
    walks: list[Callable[[Hands, Looking], None]] = [exam, around, beside]
    for walk in walks:
        walk(hands, look)
    assert len(look.seen) == len(set(look.seen)) == 25
    return look


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("theme", ["dim", "bright"])
def test_every_screen_in_this_theme_at_this_size(new_page: NewPage, phone_link: str, theme: str, way: str) -> None:
    width, height, scale, text = WAYS[way]
    page = new_page(**{**PHONE, "viewport": {"width": width, "height": height}, "device_scale_factor": scale})
    if text != 100:
        page.add_init_script(LARGE_TEXT)
    look = every_screen(page, phone_link, theme, way.replace(" ", "-"))
    assert look.found == [], "\n".join(look.found)


def test_large_text_on_a_narrow_phone_loses_no_control(new_page: NewPage, phone_link: str) -> None:
    page = new_page(**{**PHONE, "viewport": {"width": 320, "height": 640}, "device_scale_factor": 1})
    page.add_init_script(LARGE_TEXT)
    look = every_screen(page, phone_link, "dim", "320-large-text")
    assert page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") == 36, "letters twice as large"
    assert look.found == [], "\n".join(look.found)


def test_nothing_moves_for_who_asked_for_less_motion(new_page: NewPage, phone_link: str) -> None:
    page = new_page(**{**PHONE, "reduced_motion": "reduce"})
    hands = settled_in(page, phone_link)
    moving = """[...document.querySelectorAll('*')].map((one) => getComputedStyle(one)).filter((style) =>
      style.transitionDuration.split(',').some((time) => parseFloat(time) > 0)
      || style.animationName !== 'none').length"""
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.keys("6.2")
    assert page.evaluate(moving) == 0


def test_a_screen_reader_hears_names_values_and_what_was_kept(phone: Page, phone_link: str) -> None:
    hands = settled_in(phone, phone_link)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    keys = phone.get_by_role("group", name="number keys")
    for name in (*"0123456789.", "erase", "next box", "more", "keep"):
        expect(keys.get_by_role("button", name=name, exact=True)).to_have_count(1)
    expect(phone.get_by_role("button", name="the next structure")).to_be_visible()
    expect(phone.get_by_role("button", name="caudal pole, next reading").first).to_be_visible()
    hands.keys("6.2")
    hands.wait_saved(2)
    expect(phone.get_by_role("button", name="reading 6.2 mm")).to_be_visible()
    expect(phone.get_by_role("status").first).to_have_text("saved on this phone")
    nameless = """[...document.querySelectorAll('button, input, textarea, a')].filter((one) =>
      !one.hidden && !(one.getAttribute('aria-label') || one.textContent.trim() || one.labels?.length)).length"""
    assert phone.evaluate(nameless) == 0
