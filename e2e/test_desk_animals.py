"""Animals and visits at the desk by the keyboard alone, and what a phone gets of them."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from e2e.desk import Keyboard
from e2e.hands import Hands, shot
from e2e.records import wait_sent
from e2e.servers import Server
from e2e.test_accessible import faults
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import begin_walk_in


def follow(keyboard: Keyboard, name: str) -> None:
    """To a link or a button by its words, and press it."""
    page = keyboard.page
    place = page.get_by_role("link", name=name, exact=True).or_(page.get_by_role("button", name=name, exact=True))
    keyboard.tab_to(place)
    keyboard.press("Enter")


def new_animal(keyboard: Keyboard, name: str, **more: str) -> None:
    """From the list of animals to a record of a dog."""
    page = keyboard.page
    follow(keyboard, "Animals")
    follow(keyboard, "New animal")
    keyboard.write(page.locator("#name"), name)
    keyboard.tab_to(page.locator("[name=species][value=dog]"))
    keyboard.press("Space")
    for field, text in more.items():
        if field == "weight_source":
            keyboard.tab_to(page.locator("#weight_source"))
            keyboard.type(text)
        else:
            keyboard.write(page.locator(f"#{field}"), text)
    keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text(name)


def test_a_record_and_a_visit_are_made_by_keys_and_reach_the_phone(
    desk: Page, phone: Page, server: Server, phone_link: str
) -> None:
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    new_animal(keyboard, "Zephyr", breed="Whippet", weight="27 lb", weight_source="owner", microchip="27609810612345")
    expect(desk.get_by_text("27 lb are kept as 12.25 kg.")).to_be_visible()
    expect(desk.get_by_text("this one has 14 digits").first).to_be_visible()
    assert faults(desk) == []
    shot(desk, "desk-animal")
    follow(keyboard, "Plan a visit")
    keyboard.write(desk.locator("#text"), "Gallbladder: mucocele?")
    keyboard.tab_to(desk.locator("[name=structures][value=gallbladder]"))
    keyboard.press("Space")
    assert faults(desk) == []
    shot(desk, "desk-visit-form")
    keyboard.write(desk.locator("#time"), "8.30")
    keyboard.press("Enter")
    rows = desk.locator("#order tr")
    expect(rows.last.get_by_role("link", name="Zephyr", exact=True)).to_be_focused()
    before = rows.count()
    keyboard.press("Alt+ArrowUp")
    expect(rows.nth(before - 2).get_by_role("link", name="Zephyr", exact=True)).to_be_focused()
    follow(keyboard, "Move Zephyr up")
    expect(rows.nth(before - 3).get_by_role("link", name="Zephyr", exact=True)).to_be_focused()
    assert faults(desk) == []
    shot(desk, "desk-day")
    phone.goto(phone_link)
    listed = phone.locator("[data-visit]").filter(has_text="Zephyr")
    expect(listed).to_contain_text("Gallbladder: mucocele?", timeout=LIST_WITHIN_MS)
    expect(phone.locator("[data-visit]")).to_have_count(before)


def test_a_row_that_is_dragged_stays_where_it_was_let_go(desk: Page, server: Server) -> None:
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    follow(keyboard, "Visits")
    expect(desk.locator("h1")).to_contain_text("Today")
    rows = desk.locator("#order tr")
    names = [row.get_by_role("link").first.inner_text() for row in rows.all()]
    rows.nth(0).drag_to(rows.nth(2), target_position={"x": 60, "y": 4})
    moved = [names[1], names[0], *names[2:]]
    expect(rows.nth(1).get_by_role("link", name=names[0], exact=True)).to_be_focused()
    desk.wait_for_load_state()  # what listens to the drag is there with the page's last script
    below = rows.nth(2).bounding_box()
    assert below is not None
    rows.nth(1).drag_to(rows.nth(2), target_position={"x": 60, "y": below["height"] - 4})
    expect(rows.nth(2).get_by_role("link", name=names[0], exact=True)).to_be_focused()
    moved[1], moved[2] = moved[2], moved[1]
    desk.reload()
    assert [row.get_by_role("link").first.inner_text() for row in rows.all()] == moved


def test_two_records_are_made_one_by_keys_and_two_again(desk: Page, server: Server) -> None:
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    new_animal(keyboard, "Zephyr", breed="Whippet")
    follow(keyboard, "Animals")
    follow(keyboard, "New animal")
    keyboard.write(desk.locator("#name"), "Zefyr")
    keyboard.tab_to(desk.locator("[name=species][value=dog]"))
    keyboard.press("Space", "Enter")
    expect(desk.get_by_text("a name written much alike")).to_be_visible()
    follow(keyboard, "It is another animal: make the record")
    follow(keyboard, "Zephyr")
    expect(desk.locator("h1")).to_have_text("Are these one animal?")
    assert faults(desk) == []
    shot(desk, "desk-merge")
    keyboard.write(desk.locator("#why"), "entered twice")
    keyboard.press("Enter")
    expect(desk.get_by_text("Zephyr into Zefyr: entered twice")).to_be_visible()
    assert faults(desk) == []
    keyboard.write(desk.locator("[name=why]"), "brothers")
    keyboard.press("Enter")
    expect(desk.get_by_text("They are two records again.")).to_be_visible()


@pytest.mark.catalogue(70)
def test_a_walk_ins_exam_is_given_to_its_animal_and_names_both(
    desk: Page, phone: Page, server: Server, phone_link: str
) -> None:
    """Recorded on the phone without a record; at the desk it is Otto's: the entry names both, the phone's stays."""
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    wait_sent(phone)
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    follow(keyboard, "Animals")
    expect(desk.get_by_text("Examined without a record")).to_be_visible()
    expect(desk.locator("h1")).to_contain_text("Animals")
    assert faults(desk) == []
    shot(desk, "desk-walk-ins")
    follow(keyboard, "Animal without a name")
    keyboard.write(desk.locator("#q"), "otto")
    keyboard.press("Enter")
    follow(keyboard, "Otto")
    expect(desk.get_by_role("button", name="Give the exam to Otto")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "desk-whose-exam")
    keyboard.write(desk.locator("#why"), "it was Otto all along")
    follow(keyboard, "Give the exam to Otto")
    expect(desk.locator("h1")).to_contain_text("Otto")
    expect(desk.get_by_text("Given from an animal without a name to Otto: it was Otto all along")).to_be_visible()
    expect(desk.get_by_text("8.4 kg").first).to_be_visible()
    assert faults(desk) == []


def test_a_file_is_taken_in_by_keys(desk: Page, server: Server, tmp_path: Path) -> None:
    """The file itself is put into its field from outside: a browser's own dialog has no keys of ours."""
    rows = [f"{n},Animal {n},dog,{1 + n % 12}/{1 + n % 9}/2019" for n in range(400)]
    file = tmp_path / "book.csv"
    file.write_text("\n".join(["number,name,species,born", *rows]), encoding="utf-16")
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    follow(keyboard, "Animals")
    follow(keyboard, "Import, export")
    expect(desk.locator("h1")).to_have_text("Import and export")
    assert faults(desk) == []
    follow(keyboard, "Take in a file")
    expect(desk.locator("h1")).to_have_text("Take in animals or visits from a file")
    keyboard.tab_to(desk.locator("[name=kind][value=animals]"))
    keyboard.press("Space")
    keyboard.write(desk.locator("#label"), "Oldbook")
    desk.locator("[name=file]").set_input_files(file)
    assert faults(desk) == []
    keyboard.press("Enter")
    expect(desk.get_by_text("Choose the order of day and month")).to_be_visible()
    keyboard.tab_to(desk.locator("#order"))
    keyboard.type("month")
    follow(keyboard, "Look again")
    expect(desk.get_by_text("400 new, 0 changed, 0 as they are")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "desk-import")
    follow(keyboard, "Take in 400 rows")
    expect(desk.get_by_text("Taken in: 400 new")).to_be_visible(timeout=20_000)
    assert faults(desk) == []
