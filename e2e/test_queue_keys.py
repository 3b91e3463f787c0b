"""A vet's evening by the keyboard alone at 1440 x 900: the queue, a search, the sheet of keys, the board."""

from datetime import date

from playwright.sync_api import Page, expect

from e2e.appointments import at_the_desk
from e2e.desk import Keyboard
from e2e.hands import shot
from e2e.servers import Server
from e2e.test_accessible import faults
from tests.builders import Phone
from webapp.store import journal

LIST = "/review"


def name_in_focus(page: Page) -> str:
    return str(page.evaluate("document.activeElement.textContent"))


def at_the_list(keys: Keyboard, server: Server) -> None:
    """Signed in, and the page listens to keys: its button for them shows."""
    keys.sign_in(server)
    listening(keys.page)


def listening(page: Page) -> None:
    expect(page.get_by_role("button", name="Keys")).to_be_visible()


def test_search_open_and_come_back_by_keys(desk: Page, server: Server) -> None:
    keys = Keyboard(desk)
    at_the_list(keys, server)
    shot(desk, "queue")
    assert faults(desk) == []
    keys.press("j")
    first = name_in_focus(desk)
    keys.press("j", "ArrowDown", "k", "ArrowUp")
    assert name_in_focus(desk) == first, "j and k, and the arrows, undo each other"
    expect(desk.locator("[data-row]").first).to_be_focused()
    keys.press("/")
    expect(desk.locator("#q")).to_be_focused()
    keys.type("bile wide jn?")
    expect(desk.locator("#q")).to_have_value("bile wide jn?")
    expect(desk.locator("dialog")).to_have_count(0)
    keys.press("Enter")
    expect(desk.locator("#nothing")).to_contain_text("Looked for: words “bile wide jn?”")
    shot(desk, "queue-nothing")
    assert faults(desk) == []
    keys.write(desk.locator("#q"), "spleen fine tex")
    keys.press("Enter")
    expect(desk.locator(".hits mark").first).to_be_visible()
    listening(desk)
    shot(desk, "queue-search")
    assert faults(desk) == []
    found = desk.url
    keys.press("j", "j")
    opened = name_in_focus(desk)
    keys.press("Enter")
    expect(desk.locator("h1")).to_contain_text(opened)
    listening(desk)
    keys.press("q")
    expect(desk).to_have_url(found)
    keys.tab_to(desk.locator("#reason"))
    keys.type("not seen")
    keys.press("Enter")
    keys.tab_to(desk.get_by_role("button", name="Show"))
    keys.press("Enter")
    expect(desk.get_by_text("Shown: words “spleen fine tex”; not seen or partly seen.")).to_be_visible()


def test_the_sheet_lists_the_keys_of_the_page_and_switches_them_off(desk: Page, server: Server) -> None:
    keys = Keyboard(desk)
    at_the_list(keys, server)
    keys.press("?")
    sheet = desk.locator("dialog.keys")
    expect(sheet).to_be_visible()
    for key in ("j", "k", "/", "?", "q", "b"):
        expect(sheet.locator("dl").first.locator("kbd", has_text=key).first).to_be_visible()
    expect(sheet.locator("dl").nth(1)).to_contain_text("to the signature")
    shot(desk, "keys")
    assert faults(desk) == []
    keys.press("j", "n")
    expect(desk).to_have_url(f"{server.address}{LIST}")
    keys.tab_to(sheet.locator("[type=checkbox]"))
    keys.press("Space", "Escape")
    expect(sheet).not_to_be_visible()
    keys.press("j", "?", "/", "b", "n")
    expect(desk).to_have_url(f"{server.address}{LIST}")
    expect(sheet).not_to_be_visible()
    expect(desk.locator("[data-row]:focus, #q:focus")).to_have_count(0)
    desk.goto(f"{server.address}{LIST}")
    keys.tab_to(desk.get_by_role("button", name="Keys"))
    keys.press("Enter")
    keys.tab_to(sheet.locator("[type=checkbox]"))
    keys.press("Space", "Escape")
    expect(desk.get_by_role("button", name="Keys")).to_be_focused()
    keys.press("j")
    expect(desk.locator("[data-row]").first).to_be_focused()


def test_the_board_and_the_next_exam_by_one_key(desk: Page, server: Server) -> None:
    today = date.today().isoformat()
    with at_the_desk(server) as practice:
        for number, name in enumerate(("Juno", "Otto", "Pepper")):
            phone = Phone(f"{number + 1:032x}", exam=f"exam-{name}", patient=practice.patient(name))
            body = {"about": "exam", "date": today, "context": {}, "visit": practice.visits[name]["id"],
                    "patient": {"name": name, "species": "dog", "weight_kg": "20"},
                    "question": {"text": "Large adrenal glands?", "structures": ["adrenal.left"]}}
            phone.act("opened", body)
            if name == "Juno":
                phone.act("found", {"about": "vena_cava", "finding": "material"})
            if name != "Otto":
                phone.closed()
            journal.append(practice.db, phone.written, "phone")
        practice.change("Willow", "sonographer", None)
        practice.change("Tilly", "urgency", "emergency")
    keys = Keyboard(desk)
    at_the_list(keys, server)
    keys.press("b")
    expect(desk).to_have_url(f"{server.address}/board")
    expect(desk.locator("h2")).to_have_text(["To review 2", "At the table 1", "Planned 9"])
    shot(desk, "board")
    assert faults(desk) == []
    listening(desk)
    desk.locator("section").last.scroll_into_view_if_needed()
    shot(desk, "board-below")
    keys.press("n")
    expect(desk.locator("h1")).to_contain_text("Juno")
    listening(desk)
    keys.press("n")
    expect(desk.locator("h1")).to_contain_text("Pepper")
    shot(desk, "board-next")
    assert faults(desk) == []
    keys.press("b")
    expect(desk).to_have_url(f"{server.address}/board")
    listening(desk)
    keys.press("]")
    expect(desk.get_by_text("Nothing is planned and nothing was examined on this day.")).to_be_visible()


def test_a_day_that_is_none_is_where_the_keyboard_goes_on(desk: Page, server: Server) -> None:
    keys = Keyboard(desk)
    at_the_list(keys, server)
    keys.write(desk.locator("#since"), "soon")
    keys.press("Enter")
    expect(desk.locator("#since-wrong")).to_be_visible()
    expect(desk.locator("#since")).to_be_focused()
    tops = [desk.locator(f"#{name}").evaluate("place => place.getBoundingClientRect().top") for name in ("q", "since")]
    assert abs(tops[0] - tops[1]) < 2, "the fields stay in one line"
    assert faults(desk) == []
