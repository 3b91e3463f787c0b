"""At the desk by keyboard alone: a second read, a needle procedure, and the text with the question above it."""

from playwright.sync_api import Page, expect

from e2e.desk import Keyboard
from e2e.hands import shot
from e2e.servers import Server
from e2e.test_accessible import faults


def test_a_second_read_by_keyboard(server: Server, desk: Page) -> None:
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    link = desk.locator("tr", has_text="Heather").locator("a[data-row]").first
    keyboard.open_exam(server, str(link.get_attribute("href")).rpartition("/")[2])
    expect(desk.locator("#work .above")).to_contain_text("gallbladder?")
    expect(desk.locator("#work .flagged")).to_contain_text("tell someone")
    shot(desk, "sign-work")
    keyboard.press("r")
    expect(desk.get_by_role("heading", name="Second read")).to_be_visible()
    assert faults(desk) == []
    first = desk.locator(".second tbody tr").first
    keyboard.tab_to(first.locator("[type=radio]").first)
    keyboard.press("Space", "ArrowRight")
    expect(first.locator("[value=disagree]")).to_be_checked()
    keyboard.write(first.locator("[type=text]"), "The wall is whole to me.")
    shot(desk, "second-read")
    keyboard.press("Enter")
    expect(desk.get_by_text("Your second read is kept with the exam.")).to_be_visible()
    expect(desk.get_by_text("The wall is whole to me.").first).to_be_visible()
    assert faults(desk) == []
    desk.get_by_role("heading", name="Second read").scroll_into_view_if_needed()
    shot(desk, "second-read-exam")


def test_a_procedure_by_keyboard(server: Server, desk: Page) -> None:
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    link = desk.locator("tr", has_text="Heather").locator("a[data-row]").first
    keyboard.open_exam(server, str(link.get_attribute("href")).rpartition("/")[2])
    keyboard.press("p")
    expect(desk.get_by_role("heading", name="Fluid tap, Free fluid")).to_be_visible()
    assert faults(desk) == []
    desk.goto(f"{server.address}/review")
    link = desk.locator("tr", has_text="Willow").locator("a[data-row]").first
    keyboard.open_exam(server, str(link.get_attribute("href")).rpartition("/")[2])
    keyboard.press("p")
    expect(desk.get_by_text("Nothing was recorded.")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "procedures-empty")
    keyboard.tab_to(desk.locator("#procedure"))
    keyboard.type("fluid")
    keyboard.write(desk.locator("#part"), "Gallbladder")
    keyboard.tab_to(desk.locator("[name=done]").first)
    keyboard.press("Space")
    keyboard.write(desk.locator("#consent_by"), "the owner")
    keyboard.tab_to(desk.locator("#checks-0-answer"))
    keyboard.type("yes")
    keyboard.write(desk.locator("#attempts"), "1")
    keyboard.write(desk.locator("#got"), "2 ml, dark")
    shot(desk, "procedures-form")
    keyboard.press("Enter")
    expect(desk.get_by_text("Kept with the exam.")).to_be_visible()
    expect(desk.get_by_role("heading", name="Fluid tap, Gallbladder")).to_be_visible()
    keyboard.tab_to(desk.get_by_text("Add what was seen afterwards"))
    keyboard.press("Enter")
    keyboard.write(desk.locator("[name=watched]"), "Quiet")
    assert faults(desk) == []
    shot(desk, "procedures-watch")
    keyboard.press("Enter")
    expect(desk.get_by_text("Kept with the procedure.")).to_be_visible()
    expect(desk.get_by_text("Quiet.")).to_be_visible()
    shot(desk, "procedures-kept")
