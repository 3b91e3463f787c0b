"""A person's own order and short words reach the phone, and only of the one who scans."""

from playwright.sync_api import Page, expect

from e2e.hands import Hands
from e2e.servers import Server
from e2e.test_start import wait_for_list


def test_the_phone_follows_the_order_and_the_short_words_of_whoever_scans(
    server: Server, phone: Page, desk: Page, phone_link: str
) -> None:
    desk.goto(f"{server.address}/account/ways")
    desk.locator("[name=person]").fill("IF")
    desk.locator("[name=password]").fill("only-for-the-demo")
    desk.keyboard.press("Enter")
    desk.locator("[name=order]").fill("Urinary bladder\nRIGHT adrenal\nLiver")
    desk.locator("[name=phrases]").fill("spok = spleen normal")
    desk.get_by_role("button", name="Keep").click()
    expect(desk.get_by_text("Phones take it over")).to_be_visible()

    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    hands.begin_visit("Pepper", who="I. Fallow")
    hands.act("all")
    listed = phone.locator(".structures").first.locator("[data-go]")
    order = listed.evaluate_all("all => all.map((one) => one.dataset.go)")
    assert order[:3] == ["bladder", "adrenal.right", "liver"] and order[3] == "gallbladder"
    hands.act("back")
    hands.act("say")
    phone.locator("#say-text").fill("spok")
    before = hands.saved()
    hands.tap(phone.locator(".say-one").first)
    hands.wait_saved(before + 1)
    hands.act("close")
    hands.go("spleen")
    expect(phone.locator(".here-state")).to_have_text("seen, normal")
