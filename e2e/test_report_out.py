"""An issued report on its way out: the page as issued, a page for the owner, sharing and a draft, in a real browser."""

import email
from email.policy import default
from pathlib import Path

from playwright.sync_api import Page, expect

from demo import acts, seed
from e2e.desk import Keyboard
from e2e.hands import shot
from e2e.servers import Server
from e2e.test_accessible import faults

# A browser with sharing, as phones have: what is handed over is kept for the test to look at.
SHARING = """
window.handed = [];
navigator.canShare = (data) => Boolean(data.files);
navigator.share = async (data) => { window.handed.push(...data.files); };
"""


def signed_exam() -> str:
    """An exam that the demo's vet has signed: the first of the animal with two."""
    patient = next(row for row in seed.practice()["patients"] if row["id"] == "DP05")
    return acts.exam_id(patient["exams"][0])


def at_the_exam(desk: Page, server: Server) -> str:
    desk.set_viewport_size({"width": 1440, "height": 900})
    Keyboard(desk).sign_in(server)
    exam = signed_exam()
    desk.goto(f"{server.address}/review/exam/{exam}")
    return exam


def test_report_as_issued_reads_in_a_window_on_a_phone_and_on_paper(desk: Page, server: Server) -> None:
    exam = at_the_exam(desk, server)
    desk.goto(f"{server.address}/report/{exam}/1")
    expect(desk.locator("#answer")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "report-desk")
    desk.emulate_media(media="print")
    shot(desk, "report-print")
    desk.emulate_media(media="screen")
    desk.set_viewport_size({"width": 390, "height": 844})
    assert faults(desk) == []
    assert desk.evaluate("document.documentElement.scrollWidth") <= 390
    shot(desk, "report-phone")


def test_page_for_the_owner_is_off_until_it_is_made_and_can_be_switched_off(desk: Page, server: Server) -> None:
    exam = at_the_exam(desk, server)
    desk.get_by_role("link", name="Write one").click()
    assert faults(desk) == []
    shot(desk, "owner-form")
    desk.get_by_label("What you found, in plain words").fill("The glands beside the kidneys are a little thick.")
    desk.get_by_label("Whom to ring, and when").fill("R. Dale, weekdays from nine to five")
    desk.get_by_role("button", name="Make the page and switch it on").click()
    expect(desk.locator("h1 .status")).to_have_text("on")
    assert faults(desk) == []
    desk.get_by_role("link", name="page", exact=True).first.click()
    expect(desk.get_by_text("a little thick")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "owner-page")
    desk.goto(f"{server.address}/review/exam/{exam}/owner")
    desk.get_by_role("button", name="Switch the page off").click()
    expect(desk.locator("h1 .status")).to_have_text("off")


def test_pdf_is_shared_where_the_browser_can_and_downloaded_elsewhere(desk: Page, server: Server) -> None:
    exam = at_the_exam(desk, server)
    address = f"{server.address}/report/{exam}/1/send"
    desk.goto(address)
    expect(desk.get_by_role("link", name="Download the PDF")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "send")
    desk.add_init_script(SHARING)
    desk.goto(address)
    desk.get_by_role("button", name="Share the PDF from this device").click()
    expect(desk.locator("#shared")).to_have_text("Handed to this device.")
    handed = desk.evaluate("window.handed.map((file) => [file.name, file.type, file.size])")
    assert handed == [[f"report-{exam[:8]}-version-1.pdf", "application/pdf", handed[0][2]]] and handed[0][2] > 10_000


def test_draft_comes_as_a_file_for_the_mail_program(desk: Page, server: Server, tmp_path: Path) -> None:
    exam = at_the_exam(desk, server)
    desk.goto(f"{server.address}/report/{exam}/1/send")
    desk.get_by_label("E-mail address").fill("vet@practice.example")
    with desk.expect_download() as started:
        desk.get_by_role("button", name="Make a draft with the PDF in it").click()
    assert started.value.suggested_filename == f"report-{exam[:8]}-version-1.eml"
    started.value.save_as(tmp_path / "draft.eml")
    made = email.message_from_bytes((tmp_path / "draft.eml").read_bytes(), policy=default)
    assert made["To"] == "vet@practice.example" and made["X-Unsent"] == "1"


def test_who_was_sent_it_is_recorded_by_one_button(desk: Page, server: Server) -> None:
    exam = at_the_exam(desk, server)
    desk.goto(f"{server.address}/report/{exam}/1/send")
    keyboard = Keyboard(desk)
    keyboard.write(desk.get_by_label("Sent to"), "Vets at the Quay")
    keyboard.press("Enter")
    expect(desk.get_by_text("Recorded: version 1 was sent to Vets at the Quay.")).to_be_visible()
    expect(desk.get_by_text("Has it: Vets at the Quay, by e-mail")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "sent")


def test_an_addendum_adds_a_recommendation_and_the_next_one_drops_it(desk: Page, server: Server) -> None:
    exam = at_the_exam(desk, server)
    keyboard = Keyboard(desk)
    keyboard.press("i")
    added(keyboard, "appended", "asked for it", "One thing more.", {"text": "Scan again", "due": "17 Feb 2027"})
    expect(desk.locator(".told.good")).to_contain_text("Signed: version 2")
    assert faults(desk) == []
    shot(desk, "addendum-recommends")
    keyboard.press("i")
    keyboard.tab_to(desk.get_by_label("Does it stand?"))
    keyboard.type("dropped")
    keyboard.write(desk.get_by_label("Why, or by what it was settled"), "owner moved away")
    shot(desk, "addendum-drops")
    added(keyboard, "corrected", "owner rang", "No need any more.", {})
    expect(desk.locator(".told.good")).to_contain_text("Signed: version 3")
    expect(desk.get_by_role("link", name="cancellations of what was settled or dropped")).to_be_visible()
    told = desk.request.get(f"{server.address}/report/{exam}/3.txt").text()
    assert "Dropped in version 3: owner moved away." in " ".join(told.split())
    shot(desk, "addendum-dropped")


def added(keyboard: Keyboard, status: str, reason: str, text: str, row: dict[str, str]) -> None:
    """Write an addendum by keys, with a new recommendation, and sign it."""
    page = keyboard.page
    keyboard.tab_to(page.locator("select[name=status]"), back=True)
    keyboard.type(status[:3])
    expect(page.locator("select[name=status]")).to_have_value(status)
    keyboard.write(page.locator("[name=reason]"), reason)
    keyboard.write(page.locator("#text"), text)
    for name, said in row.items():
        keyboard.write(page.locator(f"#recommendations-0-{name}"), said)
    keyboard.tab_to(page.locator("#sign"))
    keyboard.press("Enter")
