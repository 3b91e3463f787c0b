"""Training on the phone: marked on every screen, judged like any animal, and on no list afterwards."""

from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.records import wait_sent
from e2e.servers import Server
from e2e.test_start import wait_for_list

CAUDAL = "adrenal.left.caudal_pole_thickness"


def test_a_training_exam_says_so_everywhere_and_is_listed_nowhere(
    server: Server, phone: Page, desk: Page, phone_link: str
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    hands.act("settings")
    hands.tap_words("V. Sorrel")
    hands.tap_words("training dog")
    expect(phone.locator("body[data-screen=exam]")).to_be_attached()
    hands.go("adrenal.left")
    hands.read(CAUDAL, "7.1")
    hands.wait_judged()
    expect(phone.locator(".line").first).to_contain_text("above 5.5 mm")
    shot(phone, "training")
    for act in ("all", "open-sheet", "animal"):
        hands.act(act)
        expect(phone.locator(".training")).to_contain_text("TRAINING")
        hands.act("back")
    hands.leave()
    wait_for_list(phone)
    expect(phone.locator(".training")).to_have_count(0)
    expect(phone.locator("[data-visit]", has_text="Training dog")).to_have_count(0)
    wait_sent(phone)
    desk.goto(f"{server.address}/sign-in")
    desk.locator("[name=person]").fill("IF")
    desk.locator("[name=password]").fill("only-for-the-demo")
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(f"{server.address}/review")
    for page in ("/review?all=1", "/animals"):
        desk.goto(server.address + page)
        expect(desk.locator("main")).not_to_contain_text("Training dog")
