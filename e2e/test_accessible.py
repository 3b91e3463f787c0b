"""No screen has a fault that axe-core can name (WCAG 2 A and AA): contrast, names, roles, targets."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from demo import seed
from e2e.appointments import at_the_desk
from e2e.hands import Hands
from e2e.servers import Server
from e2e.test_list import open_list, row, start
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in

RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}


def faults(page: Page) -> list[str]:
    """One line per kind of fault: the rule, how many, and the first place."""
    found = Axe().run(page, options=RULES).response["violations"]
    return [f"{fault['id']}: {len(fault['nodes'])} x, first {fault['nodes'][0]['html'][:160]}" for fault in found]


def test_list_of_the_day(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    # As long as it is: what a bar at the bottom edge covers for the moment is no small target.
    phone.set_viewport_size({"width": 390, "height": 4000})
    assert faults(phone) == []


def test_opening_an_animal(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    phone.locator("[data-visit]").first.tap()
    expect(phone.locator("body[data-screen=start]")).to_be_attached()
    assert faults(phone) == []


def test_start_page_questions_and_the_move(phone: Page, server: Server, phone_link: str) -> None:
    """Every panel of the start page, a chip of another animal, the animal asked for, an exam moved and its history."""
    with at_the_desk(server) as practice:
        practice.fact("Otto", "microchip", "985112000004711")
        practice.change("Juno", "cancelled", True)
    hands = open_list(phone, phone_link)
    assert faults(phone) == []
    # As long as it is: what the keys at the edge cover until the page is moved on is no small target.
    phone.set_viewport_size({"width": 390, "height": 1000})
    hands.tap(row(phone, "Otto"))
    for tab in ("fasted", "sedation", "weight", "chip"):
        hands.tap(f"[data-tab={tab}]")
        assert faults(phone) == [], tab
    hands.keys("0815")
    assert faults(phone) == []
    start(hands)
    hands.act("animal")
    hands.act("wrong-animal")
    expect(phone.locator("[data-move-to]").first).to_be_visible()
    assert faults(phone) == []
    hands.tap(phone.locator("[data-move-to]").first)
    assert faults(phone) == []
    hands.act("move")
    hands.act("animal")
    assert faults(phone) == []
    hands.leave()
    hands.act("walk-in")
    assert faults(phone) == []
    hands.act("go-on")
    phone.locator('[aria-label="name"]').fill("Otto")
    expect(phone.locator("[data-take]")).to_be_visible()
    assert faults(phone) == []


def test_exam_with_values_flags_and_questions(phone: Page, phone_link: str) -> None:
    """Keys, kept and struck readings, an open question, a line of each grade that a walk-in can raise."""
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    assert faults(phone) == []
    hands.go("adrenal.left")
    hands.keys("620")
    hands.act("keep")
    expect(phone.locator("[data-asking]")).to_be_visible()
    assert faults(phone) == []
    for _ in "620":
        hands.act("erase")
    hands.read("adrenal.left.caudal_pole_thickness", "6.2", "8.4")
    hands.read("adrenal.left.cranial_pole_thickness", "5.8", "5.9")
    hands.tap(hands.row("adrenal.left.cranial_pole_thickness").locator(".box.kept").first)
    assert faults(phone) == []
    hands.tap_words("slip of the finger")
    hands.wait_judged()
    assert faults(phone) == []
    phone.locator(".line").first.tap()
    expect(phone.locator(".source").first).to_be_visible()
    assert faults(phone) == []


def test_panels_overview_and_sheet(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.right")
    hands.read("adrenal.right.caudal_pole_thickness", "7.4", "8.9")
    for panel in ("partly", "finding", "more", "not-seen"):
        hands.act(panel)
        assert faults(phone) == [], panel
        hands.act("close")
    hands.finding("mass")
    hands.act("all")
    assert faults(phone) == []
    hands.act("back")
    hands.act("open-sheet")
    expect(phone.locator(".open-row").first).to_be_visible()
    # As long as it is: what a bar at the bottom edge covers for the moment is no small target.
    phone.set_viewport_size({"width": 390, "height": 4000})
    assert faults(phone) == []
    hands.act("back")
    hands.act("animal")
    assert faults(phone) == []
    hands.leave()
    hands.act("settings")
    assert faults(phone) == []
    hands.tap_words("bright room")
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
    for where in ("/people", "/people/KM", "/audit", "/account", "/account/password"):
        desk.goto(server.address + where)
        expect(desk.locator("h1")).to_be_visible()
        assert faults(desk) == [], where
