"""Two people at one table, each with a phone, neither with network: later one exam, and what differs shown as such."""

import json

from playwright.sync_api import Page, expect

from e2e.conftest import PHONE, NewPage
from e2e.desk import Keyboard
from e2e.hands import Hands, shot
from e2e.records import store
from e2e.servers import Server
from e2e.test_start import wait_for_list

LEFT = "adrenal.left.caudal_pole_thickness"


def ready(new_page: NewPage, link: str) -> Hands:
    page = new_page(**PHONE)
    page.goto(link)
    wait_for_list(page)
    expect(page.locator("body[data-offline=ready]")).to_be_attached()
    return Hands(page)


def leave_and_send(hands: Hands) -> None:
    hands.leave()
    hands.send_now()


def exams_of(hands: Hands) -> set[str]:
    """The exams in which this phone wrote."""
    headers = [json.loads(row["header"]) for row in store(hands.page, "entries").values() if row["own"]]
    return {header["exam"] for header in headers}


def test_a_sonographer_and_an_assistant_write_one_exam(
    server: Server, new_page: NewPage, desk: Page, phone_link: str
) -> None:
    one, other = ready(new_page, phone_link), ready(new_page, phone_link)
    server.stop()
    one.begin_visit("Pepper", weight="7.4")
    one.go("adrenal.left")
    one.read(LEFT, "6.2")
    one.normal("liver")
    other.act("settings")
    other.tap_words("V. Sorrel")
    other.act("back")
    other.begin_visit("Pepper", who="I. Fallow", weight="7.1")
    other.go("adrenal.left")
    other.read(LEFT, "6.4")
    other.go("liver")
    other.act("not-seen")
    other.tap_words("gas")

    (exam,) = exams_of(one)
    assert exams_of(other) == {exam}, "one visit, one exam"
    server.start()
    for hands in (one, other):
        leave_and_send(hands)
    keyboard = Keyboard(desk)
    desk.goto(f"{server.address}/sign-in")
    keyboard.write(desk.locator("[name=person]"), "IF")
    keyboard.write(desk.locator("[name=password]"), "only-for-the-demo")
    keyboard.press("Enter")
    expect(desk).to_have_url(f"{server.address}/review")
    desk.goto(f"{server.address}/review/exam/{exam}")
    forks = desk.locator("section.forks")
    for words in ("7.4", "7.1", "gas", "recorded normal"):
        expect(forks).to_contain_text(words)
    for value in ("6.2", "6.4"):
        expect(desk.locator("main")).to_contain_text(value)
    shot(desk, "two-phones-desk")
    weight = forks.locator(".fork", has_text="7.4")
    keyboard.tab_to(weight.locator("button", has_text="7.4"))
    keyboard.press("Enter")
    expect(desk.locator(".told, .flash, [role=status]").first).to_contain_text("Settled")
    expect(desk.locator("section.forks")).not_to_contain_text("7.1")
    expect(desk.locator("section.forks")).to_contain_text("gas")
