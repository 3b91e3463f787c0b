"""A sonographer's hands on the phone: taps on what is on the screen, each one counted."""

import os
import re
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

SAVED_WITHIN_MS = 30_000


def shot(page: Page, name: str) -> None:
    """A picture of the screen into the folder that GELSIDE_SHOTS names; without it, nothing."""
    folder = os.environ.get("GELSIDE_SHOTS")
    if folder:
        page.screenshot(path=Path(folder) / f"e2e-{name}.png")


class Hands:
    """Acts on one phone page. `taps` counts every finger down since the last `rest`."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.body = page.locator("body")
        page.set_default_timeout(SAVED_WITHIN_MS)
        self.taps = 0

    def rest(self) -> int:
        """The taps since the last rest."""
        taps, self.taps = self.taps, 0
        return taps

    def tap(self, target: str | Locator) -> None:
        place = self.page.locator(target) if isinstance(target, str) else target
        place.tap()
        self.taps += 1

    def tap_words(self, words: str) -> None:
        """A choice by the very words that stand on it."""
        self.tap(self.page.locator(f'[data-choice="{words}"]').first)

    def act(self, name: str) -> None:
        """A control by its act."""
        self.tap(f'[data-act="{name}"]')

    # -- what the screen says -------------------------------------------------

    def saved(self) -> int:
        """How many entries of the exam the phone says are kept, once none is on its way."""
        expect(self.page.locator('body[data-saving="0"]')).to_be_attached()
        return int(self.body.get_attribute("data-saved") or 0)

    def wait_saved(self, count: int) -> None:
        """Exactly so many entries are kept and none is on its way."""
        expect(self.page.locator(f'body[data-saved="{count}"][data-saving="0"]')).to_be_attached(timeout=SAVED_WITHIN_MS)

    def wait_judged(self) -> None:
        """Nothing is on its way and the rules have seen everything that was kept. One attribute says it: two
        counts read one after the other may belong to two moments."""
        expect(self.page.locator("body[data-settled=yes]")).to_be_attached(timeout=SAVED_WITHIN_MS)

    def structure(self) -> str:
        return self.page.locator("[data-structure]").get_attribute("data-structure") or ""

    def row(self, quantity: str) -> Locator:
        return self.page.locator(f'[data-row="{quantity}"]')

    def boxes(self, quantity: str) -> list[str]:
        """The kept readings of a row, as its boxes show them."""
        return [text.strip() for text in self.row(quantity).locator(".box.kept").all_inner_texts()]

    def typed(self) -> str:
        """The digits in the box in hand."""
        return self.page.locator(".row.current .box.active").inner_text().strip()

    # -- going about ----------------------------------------------------------

    def begin_visit(self, name: str, who: str = "V. Sorrel", weight: str | None = None) -> None:
        """From the list to the first structure of an animal of the day."""
        self.tap(self.page.locator("[data-visit]", has=self.page.locator("b", has_text=name)).first)
        self.say_who(who)
        if weight:
            self.tap_words("scales today")
            self.keys(weight)
        self.act("begin")
        expect(self.page.locator("body[data-screen=exam]")).to_be_attached()

    def say_who(self, who: str) -> None:
        """On the page before an exam: who scans, where that is asked, once the practice's people are here."""
        expect(self.page.locator('[data-act="begin"]')).to_be_attached()
        if not self.page.locator("#initials").count():
            return
        person = self.page.locator(f'[data-choice="{who}"]').first
        expect(person).to_be_attached()
        if person.get_attribute("aria-pressed") != "true":
            self.tap(person)

    def go(self, structure: str) -> None:
        """To a structure by the overview."""
        if self.structure() == structure:
            return
        self.act("all")
        self.tap(f'[data-go="{structure}"]')
        expect(self.page.locator(f'[data-structure="{structure}"]')).to_be_attached()

    # -- recording ------------------------------------------------------------

    def keys(self, text: str) -> None:
        """Digits and points on the own keypad."""
        for key in text:
            self.tap(f'.keypad [data-key="{key}"]')

    def take_row(self, quantity: str) -> None:
        """The keys belong to this row; measures that are folded away are unfolded first."""
        if not self.row(quantity).count():
            self.act("more")
            self.tap(self.page.locator('[data-choice^="more measures"]'))
        if "current" not in (self.row(quantity).get_attribute("class") or ""):
            self.tap(self.row(quantity).locator(".box:not(.kept)").first)
        expect(self.page.locator(f'.row.current[data-row="{quantity}"]')).to_be_attached()

    def read(self, quantity: str, *values: str) -> None:
        """Readings of one quantity, one after the other."""
        self.take_row(quantity)
        for value in values:
            before = self.saved()
            if "current" not in (self.row(quantity).get_attribute("class") or ""):
                self.take_row(quantity)
            self.keys(value)
            self.keep()
            self.wait_saved(before + 1)

    def keep(self) -> None:
        """The key, where the number in the box did not keep itself."""
        if self.page.locator(".box.active").count() and self.typed():
            self.act("keep")

    def keep_by_key(self) -> None:
        """From the list: a reading waits for its key, so that what is typed but not kept can be looked at."""
        self.act("settings")
        self.tap_words("by the keep key")
        self.act("back")

    def read_by_keyboard(self, quantity: str, value: str) -> None:
        """A reading typed on a keyboard beside the phone: there is a comma on it."""
        self.take_row(quantity)
        before = self.saved()
        self.page.keyboard.type(value)
        self.keep()
        self.wait_saved(before + 1)

    def normal(self, *structures: str) -> None:
        """Seen, normal: one tap each."""
        for structure in structures:
            self.go(structure)
            before = self.saved()
            self.act("normal")
            self.wait_saved(before + 1)

    def not_seen(self, about: str, reason: str) -> None:
        """A part that has a row of its own: not seen, with its reason."""
        before = self.saved()
        self.tap(self.page.locator(f'[data-part="{about}"], [data-other="{about}"]').first)
        self.tap_words(reason)
        self.wait_saved(before + 1)

    def which_finding(self, finding: str) -> None:
        """The panel, and in it the finding: one tap further where it is not common for the organ."""
        self.act("finding")
        further = self.page.locator('[data-act="more-findings"]')
        expect(further).to_be_visible()
        if not self.page.locator(f'[data-choice="{finding}"]').count():
            self.tap(further)
        self.tap_words(finding)

    def finding(self, finding: str, part: str | None = None, text: str = "") -> None:
        before = self.saved()
        self.which_finding(finding)
        if part:
            self.tap_words(part)
        if text:
            self.page.locator("#finding-text").fill(text)
        self.act("finding-done")
        self.wait_saved(before + 1)

    def note(self, text: str) -> None:
        """A free note on the structure on the screen, as the system's keyboard or its dictation gives it."""
        before = self.saved()
        self.act("more")
        self.tap_words("write a note")
        self.page.locator("#note-text").fill(text)
        self.act("note-done")
        self.wait_saved(before + 1)

    def held(self) -> tuple[int, int]:
        """The practice's receipt as the chip words it: (held, own)."""
        words = self.page.locator(".chip").first.inner_text()
        found = re.search(r"at the practice: (\d+) of (\d+)", words)
        assert found, words
        return int(found[1]), int(found[2])

    def leave(self) -> None:
        """Leave the exam open and be back on the list, or before the lock where a PIN is due. The place is written
        before either stands: what follows at once, a new start above all, finds the exam left."""
        if self.body.get_attribute("data-screen") != "animal":
            self.act("animal")
        self.act("leave")
        left = self.page.locator("body:is([data-screen=list], [data-screen=locked], [data-screen=revoked])")
        expect(left).to_be_attached()

    def send_now(self) -> None:
        """From the list: ask for a round, wait until it is over and nothing is left to send, and go back."""
        self.act("settings")
        self.send_from_settings()
        self.act("back")

    def send_from_settings(self) -> None:
        self.act("send-now")
        done = 'body[data-round=over][data-pending="0"][data-sync=idle]'
        expect(self.page.locator(done)).to_be_attached(timeout=2 * SAVED_WITHIN_MS)
