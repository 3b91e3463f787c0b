"""One exam at the desk by the keyboard alone: a number opened, two exams side by side, the plots; no axe fault."""

from playwright.sync_api import Page, expect

from demo import acts, seed
from e2e.desk import Keyboard
from e2e.hands import shot
from e2e.servers import Server
from e2e.test_accessible import faults
from e2e.watch import Watch

POLE = "adrenal.left.caudal_pole_thickness"


def exam_of(name: str) -> str:
    """The newest exam of a demo animal."""
    patient = next(patient for patient in seed.practice()["patients"] if patient["name"] == name)
    return acts.exam_id(patient["exams"][-1])


def test_a_number_opens_and_leads_to_both_exams_side_by_side(desk: Page, server: Server) -> None:
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    desk.goto(f"{server.address}/review/exam/{exam_of('Biscuit')}")
    row = desk.locator(f'[id="row-{POLE}"]')
    keyboard.tab_to(row.locator("summary").first)
    keyboard.press("Enter")
    expect(row).to_contain_text("typed “7.4”")
    drawn = desk.get_by_role("img", name="LEFT adrenal, caudal pole thickness over 2 exams")
    expect(drawn).to_be_visible()
    assert faults(desk) == []
    drawn.scroll_into_view_if_needed()
    shot(desk, "desk-exam-plots")
    keyboard.tab_to(row.get_by_role("link", name="on 12 Feb 2026"))
    keyboard.press("Enter")
    expect(desk.locator("h1")).to_have_text("Biscuit: 12 Feb 2026 and 17 Nov 2026")
    beside = desk.locator(f'[id="row-{POLE}"]')
    expect(beside).to_contain_text("more than the spread of repeat readings")
    keyboard.tab_to(beside.locator("summary").first)
    keyboard.press("Enter")
    expect(beside).to_contain_text("typed “6.1”")
    assert faults(desk) == []
    shot(desk, "desk-beside")


def test_plots_stand_on_paper(desk: Page, server: Server) -> None:
    """Printed, the page has its plots and tables, and not the form beside it."""
    Keyboard(desk).sign_in(server)
    desk.goto(f"{server.address}/review/exam/{exam_of('Biscuit')}")
    desk.emulate_media(media="print")
    expect(desk.get_by_role("img", name="LEFT adrenal, greatest thickness over 2 exams")).to_be_visible()
    expect(desk.locator(".work")).to_be_hidden()


def test_a_signature_that_was_refused_leads_to_the_reasons_asked_for(desk: Page, server: Server, watch: Watch) -> None:
    watch.expect("422 (Unprocessable Entity)")
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    desk.goto(f"{server.address}/review/exam/{exam_of('Otto')}")
    expect(desk.get_by_role("button", name="Keys")).to_be_visible()
    keyboard.press("s", "Enter")
    expect(desk.get_by_role("alert")).to_be_focused()
    keyboard.press("Tab")
    expect(desk.get_by_role("link", name="To the reasons asked for")).to_be_focused()
    keyboard.press("Enter", "Tab")
    expect(desk.locator("#needed input:not([type=hidden])").first).to_be_focused()
    assert faults(desk) == []
