"""Before the probe is lifted: everything open is said, leads to its place in one tap, and goes when it is answered."""

from playwright.sync_api import Page, expect

from e2e.hands import Hands
from e2e.records import phone_entries
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in

RIGHT_CAUDAL = "adrenal.right.caudal_pole_thickness"


def open_rows(hands: Hands) -> list[str]:
    """What the sheet says is open, by id, in its order."""
    hands.act("open-sheet")
    expect(hands.page.locator(".open-row").first).to_be_visible()
    return [str(row.get_attribute("data-open")) for row in hands.page.locator(".open-row").all()]


def test_every_open_row_leads_to_its_place_in_one_tap(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "cat", "4.1")
    hands.go("adrenal.right")
    hands.read(RIGHT_CAUDAL, "3.4", "3.6")
    hands.not_seen("adrenal.right.cranial_pole", "gas")
    hands.wait_judged()
    rows = open_rows(hands)
    assert {"spleen", "adrenal.left", "adrenal.right.cranial_pole", "patient.sex"} <= set(rows), rows
    for place, about in enumerate(rows):
        hands.tap(phone.locator(".open-row .open-go").nth(place))
        if about.startswith("patient."):
            expect(phone.locator("body[data-screen=animal]")).to_be_attached()
            hands.act("back")
        else:
            expect(phone.locator("body[data-screen=exam]")).to_be_attached()
            assert about.startswith(hands.structure()) or about == "question", about
        hands.act("open-sheet")


def test_open_row_closed_on_the_sheet_is_gone_and_recorded_as_said(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.wait_judged()
    before = open_rows(hands)
    row = phone.locator('.open-row[data-open="spleen"]')
    hands.tap(row.locator('[data-act="not-examined"]'))
    hands.tap_words("time")
    expect(row).to_have_count(0)
    hands.tap(phone.locator('.open-row[data-open="liver"] [data-act="seen"]'))
    expect(phone.locator('.open-row[data-open="liver"]')).to_have_count(0)
    hands.wait_saved(3)
    hands.act("back")
    assert not {"spleen", "liver"} & set(open_rows(hands))
    assert "spleen" in before and "liver" in before
    said = [entry["body"] for entry in phone_entries(phone) if entry["kind"] == "seen"]
    assert said == [
        {"about": "spleen", "seen": "not_examined", "why": ["time"], "normal": False},
        {"about": "liver", "seen": "whole", "why": [], "normal": False},
    ]


def test_exam_with_open_rows_can_be_finished_and_claims_nothing_more(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.normal("liver")
    hands.act("open-sheet")
    hands.act("close-exam")
    expect(phone.locator("body[data-screen=list]")).to_be_attached()
    expect(phone.locator(".visit.stage-finished")).to_have_count(1)
    entries = phone_entries(phone)
    assert [entry["kind"] for entry in entries] == ["opened", "seen", "closed"]
