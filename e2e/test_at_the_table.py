"""What an exam costs a hand with gel on it: taps, reach, and no keyboard of the system in the way."""

import gzip
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.records import phone_entries, wait_written
from e2e.servers import ROOT
from e2e.test_start import LARGEST_FIRST_DOWNLOAD, LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import begin_walk_in

MOST_TAPS = 90
AIMED_AT = 75
MOST_TAPS_A_READING = 4
LEAST_KEY_PX = 56
LEAST_TARGET_PX = 44
LEAST_GAP_PX = 8
# The fifteen core readings of a dog of 7.2 kg, each side and pole by itself, with one decimal.
CORE: dict[str, list[tuple[str, tuple[str, ...]]]] = {
    "adrenal.left": [("caudal_pole_thickness", ("4.2", "4.3")), ("cranial_pole_thickness", ("3.9", "4.0"))],
    "adrenal.right": [("caudal_pole_thickness", ("4.4", "4.3")), ("cranial_pole_thickness", ("3.8", "3.9"))],
    "kidney.left": [("length", ("42.1", "41.8"))],
    "kidney.right": [("length", ("41.5", "42.0"))],
    "aorta": [("diameter", ("5.9",))],
    "duodenum": [("wall_thickness", ("3.4",))],
    "jejunum": [("wall_thickness", ("2.9",))],
}


def answer_with_readings(hands: Hands, structure: str, *, keeps_itself: bool) -> None:
    """The structure's readings box after box; the last one is kept by the one tap that answers."""
    numbers = [value for _, values in CORE[structure] for value in values]
    for value in numbers if keeps_itself else numbers[:-1]:
        before = hands.saved()
        hands.keys(value)
        if not keeps_itself:
            hands.act("keep")
        hands.wait_saved(before + 1)
    if not keeps_itself:
        hands.keys(numbers[-1])


def answer(hands: Hands, *, keeps_itself: bool) -> None:
    """The structure on the screen as in a healthy animal, by as few taps as the screen offers."""
    structure = hands.structure()
    if structure in CORE:
        answer_with_readings(hands, structure, keeps_itself=keeps_itself)
    before = hands.saved()
    for act in ("together", "expected", "normal"):
        if hands.page.locator(f'[data-act="{act}"]').count():
            hands.act(act)
            break
    expect(hands.page.locator(f'body[data-saved="{before}"]')).to_have_count(0)
    expect(hands.page.locator('body[data-saving="0"]')).to_be_attached()


def settled_in(phone: Page, link: str, *more: str) -> Hands:
    """Who scans, and other choices of the settings, are made once for all exams."""
    phone.goto(link)
    wait_for_list(phone)
    hands = Hands(phone)
    hands.act("settings")
    for words in ("V. Sorrel", *more):
        hands.tap_words(words)
    hands.act("back")
    hands.rest()
    return hands


@pytest.mark.parametrize(("keeps_itself", "most"), [(False, MOST_TAPS), (True, AIMED_AT)])
def test_normal_exam_with_fifteen_core_readings_takes_few_taps(
    phone: Page, phone_link: str, keeps_itself: bool, most: int
) -> None:
    hands = settled_in(phone, phone_link, *([] if keeps_itself else ["by the keep key"]))
    hands.tap(phone.locator("[data-visit]", has_text="Pepper"))
    hands.act("begin")
    expect(phone.locator("body[data-screen=exam][data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    while phone.locator("body[data-screen=exam]").count():
        answer(hands, keeps_itself=keeps_itself)
    shot(phone, "sheet-of-a-normal-exam")
    hands.tap('[data-answer="yes"]')
    hands.act("close-exam")
    taps = hands.rest()
    entries = phone_entries(phone)
    measured = [(entry["body"]["about"], entry["body"]["value"]) for entry in entries if entry["kind"] == "read"]
    assert sorted(measured) == sorted(
        (f"{structure}.{name}", value) for structure, rows in CORE.items() for name, values in rows for value in values)
    said = {entry["body"]["about"] for entry in entries if entry["kind"] == "seen"}
    print(f"a normal exam: {taps} taps for {len(measured)} readings and {len(said)} answered structures")
    assert len(said) == 28, "each structure by an entry of its own"
    assert taps <= most


def test_a_reading_takes_at_most_four_taps(phone: Page, phone_link: str) -> None:
    """On a phone as it is: a gland, a kidney with a digit more, both in cm too, and a whole number by the key."""
    hands = settled_in(phone, phone_link)
    begin_walk_in(hands, "dog", "8.4")
    taken = []
    for unit, values in (("mm", {"adrenal.left": "4.2", "kidney.left": "42.1"}),
                         ("cm", {"adrenal.left": "0.43", "kidney.left": "4.18", "kidney.right": "4.2"}),
                         ("mm", {"kidney.right": "42", "aorta": "5.9"})):
        for structure, value in values.items():
            hands.go(structure)
            if unit not in phone.locator('[data-act="unit"]').inner_text():
                hands.act("unit")
            before = hands.saved()
            hands.rest()
            hands.keys(value)
            hands.keep()
            hands.wait_saved(before + 1)
            taken.append((value, hands.rest()))
    print(f"taps for a reading: {taken}")
    assert all(taps <= MOST_TAPS_A_READING for _, taps in taken), taken
    read = [entry["body"] for entry in phone_entries(phone) if entry["kind"] == "read"]
    assert [(body["typed"], body["value"]) for body in read] == [
        ("4.2", "4.2"), ("42.1", "42.1"), ("0.43", "4.3"), ("4.18", "41.8"), ("4.2", "42"), ("42", "42"),
        ("5.9", "5.9")]


def test_a_number_that_keeps_itself_still_asks_and_is_taken_back_by_one_tap(phone: Page, phone_link: str) -> None:
    hands = settled_in(phone, phone_link)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    before = hands.saved()
    hands.keys("64.0")
    expect(phone.locator("[data-asking]")).to_contain_text("64.0 mm")
    assert hands.saved() == before, "a slip of ten is asked about before it is kept"
    hands.tap('[data-act="sure"]')
    hands.wait_saved(before + 1)
    hands.act("undo")
    hands.wait_saved(before + 2)
    assert [entry["kind"] for entry in phone_entries(phone)][-2:] == ["read", "struck"]


def test_not_seen_with_its_reason_takes_two_taps_for_a_structure_and_for_a_part(phone: Page, phone_link: str) -> None:
    hands = settled_in(phone, phone_link)
    begin_walk_in(hands, "dog", "8.4")
    hands.rest()
    hands.act("not-seen")
    hands.tap_words("gas")
    assert hands.rest() == 2
    hands.go("adrenal.right")
    hands.rest()
    hands.not_seen("adrenal.right.cranial_pole", "deep chest")
    hands.not_seen("adrenal.right.phrenicoabdominal_vein", "gas")
    assert hands.rest() == 4
    said = {entry["body"]["about"]: (entry["body"]["seen"], entry["body"]["why"])
            for entry in phone_entries(phone) if entry["kind"] == "seen"}
    assert said == {"liver": ("not_seen", ["gas"]), "adrenal.right.cranial_pole": ("not_seen", ["deep chest"]),
                    "adrenal.right.phrenicoabdominal_vein": ("not_seen", ["gas"])}


def test_going_on_after_an_interruption_takes_one_tap(phone: Page, phone_link: str) -> None:
    hands = settled_in(phone, phone_link)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read("adrenal.left.caudal_pole_thickness", "4.2")
    hands.keys("4.")
    wait_written(phone, "'4.'")
    phone.reload()
    expect(phone.locator("body[data-screen=resume]")).to_be_attached(timeout=LIST_WITHIN_MS)
    hands.rest()
    hands.act("go-on")
    expect(phone.locator('[data-structure="adrenal.left"]')).to_be_attached()
    assert hands.rest() == 1 and hands.typed() == "4."


def test_one_tap_for_one_sweep_names_what_it_says_and_is_undone_as_one(phone: Page, phone_link: str) -> None:
    hands = settled_in(phone, phone_link)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("free_fluid")
    button = phone.locator('[data-act="together"]')
    expect(button).to_have_text("Free fluid; Peritoneum and mesentery; Retroperitoneum: each seen, normal")
    shot(phone, "one-sweep")
    hands.act("together")
    hands.wait_saved(4)
    hands.act("undo")
    hands.wait_saved(5)
    hands.go("peritoneum")
    expect(phone.locator(".here-state")).to_have_text("all")
    hands.note("Hazy.")
    hands.go("free_fluid")
    expect(button).to_have_count(0)


def boxes(page: Page, selector: str) -> list[tuple[str, Any]]:
    """(words, bounding box in CSS px) of everything visible that matches."""
    found = []
    for place in page.locator(selector).all():
        box = place.bounding_box()
        if box and place.is_visible():
            found.append((place.inner_text().replace("\n", " ") or str(place.get_attribute("aria-label")), box))
    return found


def too_small(page: Page, selector: str, least: float) -> list[str]:
    return [f"{words!r}: {box['width']:.0f} x {box['height']:.0f}" for words, box in boxes(page, selector)
            if min(box["width"], box["height"]) < least - 0.5]


def too_close(page: Page, selector: str, least: float) -> list[str]:
    """Pairs of neighbours that a thumb could take for each other."""
    all_of_them = boxes(page, selector)
    close = []
    for place, (words, a) in enumerate(all_of_them):
        for other, b in all_of_them[place + 1:]:
            across = max(a["x"], b["x"]) - min(a["x"] + a["width"], b["x"] + b["width"])
            down = max(a["y"], b["y"]) - min(a["y"] + a["height"], b["y"] + b["height"])
            if max(across, down) < least - 0.5:
                close.append(f"{words!r} and {other!r}: {max(across, down):.0f}")
    return close


def test_keys_are_large_and_apart_and_all_on_the_screen(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    hands.act("walk-in")
    assert too_small(phone, ".keypad .key", LEAST_KEY_PX) == []
    hands.act("back")
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    reach = ".keypad .key, .answers .answer"
    assert len(boxes(phone, reach)) == 16 + 4
    assert too_small(phone, reach, LEAST_KEY_PX) == []
    assert too_close(phone, reach, LEAST_GAP_PX) == []
    for words, box in boxes(phone, reach):
        assert box["y"] >= 0.45 * 844 and box["y"] + box["height"] <= 844, f"{words} is out of the thumb's reach"
        assert box["x"] >= 0 and box["x"] + box["width"] <= 390, f"{words} is cut"
    hands.tap(".answer:text-is('not seen')")
    assert too_small(phone, ".choice", LEAST_KEY_PX) == []
    hands.act("close")
    hands.act("finding")
    hands.tap_words("mass")
    assert too_small(phone, ".size-keys .key", LEAST_KEY_PX) == []


def test_every_control_of_the_exam_has_a_finger_wide_target(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read("adrenal.left.caudal_pole_thickness", "6.2", "6.4")
    hands.wait_judged()
    assert too_small(phone, "button", LEAST_TARGET_PX) == []
    hands.act("open-sheet")
    assert too_small(phone, "button", LEAST_TARGET_PX) == []
    hands.act("back")
    hands.act("all")
    assert too_small(phone, "button", LEAST_TARGET_PX) == []


def test_numbers_never_call_the_systems_keyboard(phone: Page, phone_link: str) -> None:
    """Nothing on the way of a number can take a text cursor, so no keyboard can rise over the keys."""
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    writable = "input, textarea, select, [contenteditable]"
    hands.go("adrenal.left")
    expect(phone.locator(writable)).to_have_count(0)
    hands.keys("6")
    hands.tap(hands.row("adrenal.left.caudal_pole_thickness").locator(".box").first)
    expect(phone.locator(writable)).to_have_count(0)
    assert phone.evaluate("document.activeElement.matches('input, textarea, [contenteditable]')") is False
    hands.act("keep")
    hands.wait_saved(2)
    hands.tap(hands.row("adrenal.left.caudal_pole_thickness").locator(".box.kept").first)
    expect(phone.locator(writable)).to_have_count(0)
    hands.act("close")
    hands.act("animal")
    expect(phone.locator("input[type=number], [inputmode=numeric], [inputmode=decimal]")).to_have_count(0)
    for key in "9.1":
        hands.tap(f'.size-keys [data-key="{key}"]')
    assert phone.evaluate("document.activeElement.matches('input, textarea, [contenteditable]')") is False


def test_build_without_the_runtime_is_a_small_download() -> None:
    built = [path for path in (ROOT / "static" / "build").iterdir() if path.suffix not in (".br", ".gz")]
    files = [path for path in built if not path.name.startswith("micropython.")]
    sizes = {path.name: len(gzip.compress(path.read_bytes())) for path in files}
    print(f"first download without the runtime: {sum(sizes.values()) / 1000:.1f} kB gzip")
    kinds = {name.split(".")[0] for name in sizes}
    assert {"index", "tables", "rules", "page", "sw"} <= kinds
    assert sum(sizes.values()) < LARGEST_FIRST_DOWNLOAD, sizes
