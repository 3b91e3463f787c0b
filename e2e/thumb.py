"""A thumb that taps where it can see: raw touches on the glass, no scrolling but by the buttons that are for it."""

from playwright.sync_api import Locator, expect

from e2e.hands import Hands

# What lies under the middle of a target: the target itself, or something over it (or nothing: beyond the edge).
FREE = """
(target) => {
  const box = target.getBoundingClientRect();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  const top = document.elementFromPoint(x, y);
  return top && target.contains(top) ? [x, y] : null;
}
"""
ONWARDS = ".further-in:not([hidden]), .scroll-on:not([hidden]), .further:not([hidden])"
MOST_SCREENFULS = 40


class Thumb(Hands):
    """`onwards` counts the taps that only brought a target into sight."""

    onwards = 0

    def tap(self, target: str | Locator) -> None:
        place = (self.page.locator(target) if isinstance(target, str) else target).first
        expect(place).to_be_visible()
        expect(place).to_be_enabled()
        for _ in range(MOST_SCREENFULS):
            point = place.evaluate(FREE)
            if point:
                self.page.touchscreen.tap(*point)
                self.taps += 1
                return
            on = self.page.locator(ONWARDS).first
            assert on.count(), f"out of sight, and no button goes on: {place.evaluate('(one) => one.outerHTML')[:160]}"
            self.page.touchscreen.tap(*on.evaluate(FREE))
            self.taps += 1
            self.onwards += 1
        raise AssertionError(f"never in sight: {place.evaluate('(one) => one.outerHTML')[:160]}")
