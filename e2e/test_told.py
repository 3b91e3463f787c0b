"""An urgent finding at the desk: told before anything is signed, by keyboard alone, and whoever has an older report."""

from playwright.sync_api import Page, expect

from e2e.desk import Keyboard
from e2e.hands import shot
from e2e.servers import Server
from e2e.test_accessible import faults


def test_told_handed_over_and_told_again(server: Server, desk: Page) -> None:
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    link = desk.locator("tr", has_text="Rufus").locator("a[data-row]").first
    exam = str(link.get_attribute("href")).rpartition("/")[2]
    keyboard.open_exam(server, exam)
    take_back(keyboard, "R. Dune, by phone")
    expect(desk.get_by_role("heading", name="Nobody is recorded as told")).to_be_visible()
    shot(desk, "told-untold")
    keyboard.press("t")
    expect(desk.get_by_role("heading", name="Told and handed over")).to_be_visible()
    assert faults(desk) == []
    keyboard.tab_to(desk.get_by_role("button", name="Make a preliminary report"))
    keyboard.press("Enter")
    expect(desk.get_by_text("Preliminary report 1 is made and kept")).to_be_visible()
    expect(desk.locator("#handed")).to_have_value("preliminary-1")
    keyboard.write(desk.locator("#to"), "M. Hale")
    keyboard.tab_to(desk.locator("#how"))
    keyboard.type("by phone")
    keyboard.tab_to(desk.locator("[name=read_back]").first)
    keyboard.press("Space")
    shot(desk, "told-form")
    keyboard.press("Enter")
    expect(desk.get_by_text("Recorded. It stands with the exam.")).to_be_visible()
    expect(desk.get_by_text("M. Hale, by phone")).to_be_visible()
    expect(desk.get_by_text("Nobody is recorded as told")).to_have_count(0)
    assert faults(desk) == []
    shot(desk, "told-exam")
    keyboard.press("t")
    expect(desk.get_by_role("heading", name="Told and handed over")).to_be_visible()
    shot(desk, "told-page")
    assert faults(desk) == []


def take_back(keyboard: Keyboard, line: str) -> None:
    """The demo's hand-over was recorded by mistake: somebody is to be told again."""
    page = keyboard.page
    address = page.url
    expect(page.get_by_text(line)).to_be_visible()
    keyboard.press("t")
    keyboard.tab_to(page.get_by_text("recorded by mistake"))
    keyboard.press("Enter")
    keyboard.write(page.get_by_label("Why"), "another animal")
    assert faults(page) == []
    keyboard.press("Enter")
    expect(page.get_by_text("taken back: another animal")).to_be_visible()
    page.goto(address)
