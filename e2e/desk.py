"""A vet's hands at the desk: the keyboard alone. No pointer, no filling of fields from outside."""

from contextlib import suppress

from playwright.sync_api import Error, Locator, Page, expect

from demo import seed
from e2e.servers import Server

MOST_TABS = 120
# A key that leads to another page marks the one it leaves, as soon as that begins: nothing is to be pressed there any
# more. Downloads and places on the same page lead nowhere else.
MARK_LEAVING = """
globalThis.navigation?.addEventListener('navigate', ({ destination, downloadRequest }) => {
  if (!destination.sameDocument && downloadRequest === null) document.documentElement.dataset.leaving = 'yes';
});
"""
LEAVING = "() => document.documentElement.dataset.leaving === 'yes'"
MOVES_THE_FOCUS = ("Tab", "Shift+Tab")


class Keyboard:
    """Drives a desk page by keys as they are pressed."""

    def __init__(self, page: Page) -> None:
        self.page = page
        page.add_init_script(MARK_LEAVING)
        page.evaluate(MARK_LEAVING)

    def press(self, *keys: str) -> None:
        """One key after the other; where one leads to another page, that page stands before the next is pressed."""
        for key in keys:
            self.page.keyboard.press(key)
            if key not in MOVES_THE_FOCUS:
                self._arrive()

    def _arrive(self) -> None:
        with suppress(Error):  # the page was left while it was asked
            if not self.page.evaluate(LEAVING):
                return
        expect(self.page.locator("html:not([data-leaving])")).to_be_attached()
        # What listens to keys is there with the page's last script.
        self.page.wait_for_load_state()

    def type(self, text: str) -> None:
        self.page.keyboard.type(text)

    def has_focus(self, place: Locator) -> bool:
        return bool(place.count()) and bool(place.first.evaluate("place => place === document.activeElement"))

    def tab_to(self, place: Locator, back: bool = False) -> None:
        """Tab until the place has the focus; fails when the keyboard never comes there."""
        expect(place.first).to_be_attached()
        for _ in range(MOST_TABS):
            if self.has_focus(place):
                return
            self.press("Shift+Tab" if back else "Tab")
        raise AssertionError(f"the keyboard never reached {place}")

    def write(self, place: Locator, text: str) -> None:
        """Tab to a field and type over what stands in it."""
        self.tab_to(place)
        self.press("Control+a")
        self.type(text)
        expect(place).to_have_value(text)

    def sign_in(self, server: Server) -> None:
        """From an address typed by hand to the queue."""
        self.page.goto(f"{server.address}/review")
        person, password = seed.SIGN_IN
        self.write(self.page.locator("[name=person]"), person)
        self.write(self.page.locator("[name=password]"), password)
        self.press("Enter")
        expect(self.page).to_have_url(f"{server.address}/review")

    def open_exam(self, server: Server, exam: str) -> None:
        """From the queue, row by row, to one exam."""
        row = self.page.locator(f'[data-row][href="/review/exam/{exam}"]')
        self.page.wait_for_load_state()
        for _ in range(MOST_TABS):
            self.press("j")
            if self.has_focus(row):
                break
        assert self.has_focus(row), "the queue's rows never came to this exam"
        self.press("Enter")
        expect(self.page).to_have_url(f"{server.address}/review/exam/{exam}")
