"""No screen has a fault that axe-core can name (WCAG 2 A and AA): contrast, names, roles, targets."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from demo import seed
from e2e.servers import Server
from e2e.test_start import wait_for_list

RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}


def faults(page: Page) -> list[str]:
    """One line per kind of fault: the rule, how many, and the first place."""
    found = Axe().run(page, options=RULES).response["violations"]
    return [f"{fault['id']}: {len(fault['nodes'])} x, first {fault['nodes'][0]['html'][:160]}" for fault in found]


def test_list_of_the_day(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    assert faults(phone) == []


def test_opening_an_animal(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    phone.locator("[data-visit]").first.tap()
    expect(phone.locator("body[data-screen=start]")).to_be_attached()
    assert faults(phone) == []


def test_desk(desk: Page, server: Server) -> None:
    desk.goto(f"{server.address}/sign-in")
    assert faults(desk) == []
    person, password = seed.SIGN_IN
    desk.locator("[name=person]").fill(person)
    desk.locator("[name=password]").fill(password)
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(f"{server.address}/review")
    assert faults(desk) == []
    desk.get_by_role("link", name="Otto").first.click()
    expect(desk.get_by_text("Weimaraner").first).to_be_visible()
    assert faults(desk) == []
