"""Never under the wrong name: who is on the table stands on top, is asked about in time, and can be put right later."""

import re

import pytest
from playwright.sync_api import Page, expect

from demo import acts, seed
from e2e.appointments import at_the_desk
from e2e.hands import Hands, shot
from e2e.records import phone_entries, server_entries, wait_sent
from e2e.servers import Server
from e2e.test_list import open_list, row, start
from e2e.test_start import LIST_WITHIN_MS
from webapp import rules

OTTO, RUFUS = (next(one for one in seed.practice()["patients"] if one["name"] == name) for name in ("Otto", "Rufus"))
CHIPS = {"Otto": "985112000004711", "Rufus": "985112000000815"}
AWAY_MS = 5 * 60_000 + 1000


def begin(hands: Hands, name: str, weight: str = "") -> None:
    hands.tap(row(hands.page, name))
    if weight:
        hands.keys(weight)
    start(hands)


def test_name_species_and_weight_stand_on_top_of_every_screen_of_the_exam(phone: Page, phone_link: str) -> None:
    hands = open_list(phone, phone_link)
    begin(hands, "Otto")
    hands.go("adrenal.left")
    who = ("Otto", "dog", "34.2 kg")

    def on_top(where: str, screen: str = "exam") -> None:
        # The screen before has such a head too.
        expect(phone.locator(f"body[data-screen={screen}]")).to_be_attached()
        head = phone.locator(".top, [data-in-hand]").first
        for words in who:
            expect(head, where).to_contain_text(words)
        box = head.bounding_box()
        assert box and box["y"] < 130, where

    on_top("exam")
    for panel in ("partly", "finding", "more", "not-seen"):
        hands.act(panel)
        on_top(panel)
        hands.act("close")
    for act, screen in (("all", "all"), ("open-sheet", "open"), ("animal", "animal")):
        hands.act(act)
        on_top(act, screen)
        hands.act("back")
    hands.act("animal")
    hands.act("wrong-animal")
    on_top("move", "move")
    hands.act("stay")
    hands.act("back")
    hands.tap(".chip")
    on_top("settings", "settings")
    hands.act("limits")
    on_top("limits", "limits")


def test_opening_another_animal_within_minutes_asks_and_one_tap_goes_on(phone: Page, phone_link: str) -> None:
    hands = open_list(phone, phone_link)
    begin(hands, "Otto")
    hands.normal("liver")
    hands.leave()
    hands.rest()
    hands.tap(row(phone, "Rufus"))
    expect(phone.locator(".resume h1")).to_contain_text("Rufus, dog, 24.7 kg")
    expect(phone.locator(".resume .asked")).to_have_text("You wrote for Otto just now. That exam is not finished.")
    shot(phone, "ask-other-animal")
    hands.act("go-on")
    expect(phone.locator("body[data-screen=start]")).to_be_attached()
    assert hands.rest() == 2
    hands.act("back")
    hands.act("walk-in")
    expect(phone.locator(".resume h1")).to_have_text("A walk-in animal")
    hands.act("back-to")
    expect(phone.locator(".top")).to_contain_text("Otto")
    hands.act("open-sheet")
    hands.tap('[data-answer="yes"]')
    hands.act("close-exam")
    expect(phone.locator("body[data-screen=list]")).to_be_attached()
    # Otto's exam is finished: going on to the next animal asks nothing.
    hands.tap(row(phone, "Rufus"))
    expect(phone.locator("body[data-screen=start]")).to_be_attached()


def test_after_five_minutes_away_the_animal_is_asked_for_and_half_a_number_waits(phone: Page, phone_link: str) -> None:
    phone.clock.install()
    hands = open_list(phone, phone_link)
    begin(hands, "Otto")
    hands.go("adrenal.left")
    hands.keys("6.")
    phone.clock.fast_forward(AWAY_MS)
    expect(phone.locator("body[data-screen=resume]")).to_be_attached()
    expect(phone.locator(".resume h1")).to_contain_text("Otto, dog, 34.2 kg")
    expect(phone.locator(".resume .asked")).to_have_text(
        'you were at LEFT adrenal, caudal pole thickness, reading 1, "6." typed; 5 minutes ago')
    shot(phone, "ask-same-animal")
    phone.clock.run_for(1000)
    hands.act("go-on")
    assert (hands.structure(), hands.typed()) == ("adrenal.left", "6.")
    # Another animal: the digits wait for Otto's exam.
    phone.clock.fast_forward(AWAY_MS)
    phone.clock.run_for(1000)
    hands.act("other-animal")
    expect(phone.locator("body[data-screen=list]")).to_be_attached()
    hands.tap(row(phone, "Otto"))
    expect(phone.locator(".resume .asked")).to_have_text("You last wrote here 10 minutes ago.")
    hands.act("go-on")
    assert (hands.structure(), hands.typed()) == ("adrenal.left", "6.")


@pytest.mark.catalogue(70)
def test_exam_moves_to_another_animal_with_both_names_and_back(phone: Page, server: Server, phone_link: str) -> None:
    """Recorded for Otto, the dog was Rufus; without a network, and the practice reads the same."""
    hands = open_list(phone, phone_link)
    server.stop()
    begin(hands, "Otto", "24.9")
    hands.go("adrenal.left")
    hands.read("adrenal.left.caudal_pole_thickness", "4.4", "4.6")
    hands.act("animal")
    hands.act("wrong-animal")
    hands.tap(phone.locator("[data-move-to]", has_text="Rufus"))
    expect(phone.locator(".page")).to_contain_text("Weight afterwards: 24.9 kg, scales today.")
    shot(phone, "move-confirm")
    hands.act("move")
    hands.wait_judged()
    expect(phone.locator(".top")).to_contain_text("Rufus dog, 24.9 kg, male neutered")
    expect(phone.locator(".top")).to_contain_text("asked: Newly high blood pressure")
    # The earlier exam of Rufus is compared now, and Otto waits on the list again.
    hands.act("animal")
    expect(phone.locator("[data-moved=stands]")).to_contain_text("from Otto, dog, to Rufus, dog")
    expect(phone.get_by_text(re.compile(r"earlier exam 17 Nov( 2026)?"))).to_be_visible()
    hands.leave()
    expect(row(phone, "Rufus")).to_have_class("visit stage-begun ")
    expect(row(phone, "Otto")).to_have_class("visit stage-waiting ")
    server.start()
    wait_sent(phone)
    own = phone_entries(phone)
    kept = [entry for entry in server_entries(server, own[0]["device"]) if entry["exam"] == own[0]["exam"]]
    exam = rules.call({"do": "open", "entries": kept})["exam"]
    assert exam["patient_id"] == acts.patient_id(RUFUS) and exam["patient"]["name"] == "Rufus"
    assert exam["patient"]["weight_kg"] == "24.9" and exam["forks"] == [] and exam["unread"] == []
    assert [(move["from"]["name"], move["to"]["name"]) for move in exam["moved"]] == [("Otto", "Rufus")]
    hands.tap(row(phone, "Rufus"))
    hands.act("animal")
    hands.act("move-back")
    hands.wait_judged()
    expect(phone.locator(".top")).to_contain_text("Otto dog, 24.9 kg, male")
    expect(phone.locator(".top")).to_contain_text("asked: Blood at the tip")
    hands.act("animal")
    expect(phone.locator("[data-moved=taken-back]")).to_contain_text("from Otto, dog, to Rufus, dog")
    assert hands.page.locator("[data-moved=stands]").count() == 0


def test_chip_number_is_compared_with_the_record_and_says_whose_it_is(
    phone: Page, server: Server, phone_link: str
) -> None:
    with at_the_desk(server) as practice:
        for name, number in CHIPS.items():
            practice.fact(name, "microchip", number)
    hands = open_list(phone, phone_link)
    server.stop()
    hands.tap(row(phone, "Otto"))
    hands.tap("[data-tab=chip]")
    said = phone.locator("[data-chip-says]")
    hands.keys("4711")
    expect(said).to_have_text("Chip matches the record of Otto: the last 4 digits.")
    for _ in "4711":
        hands.act("erase")
    hands.keys("0815")
    expect(said).to_have_text("Chip does NOT match the record of Otto: read 0815, the record ends in 4711.")
    expect(phone.locator("[data-chip-of]")).to_contain_text("It is the number of Rufus")
    shot(phone, "chip-of-another")
    start(hands)
    expect(phone.locator(".top .wrong")).to_have_text("chip does NOT match the record")
    chip = phone_entries(phone)[1]["body"]
    assert chip == {"about": "exam.chip", "value": "mismatch", "typed": "0815", "record": CHIPS["Otto"]}
    hands.leave()
    hands.tap(row(phone, "Rufus"))
    hands.act("go-on")
    hands.tap("[data-tab=chip]")
    hands.keys(CHIPS["Rufus"])
    expect(said).to_have_text("Chip matches the record of Rufus: the whole number.")


def test_walk_in_is_shown_likely_records_and_joined_to_none_by_itself(phone: Page, phone_link: str) -> None:
    hands = open_list(phone, phone_link)
    listed = {entry["patient"] for entry in phone_entries(phone)}
    hands.act("walk-in")
    hands.tap_words("dog")
    phone.locator('[aria-label="name"]').fill("Rufuss")
    expect(phone.locator("[data-take]")).to_contain_text("a name alike, the same species")
    shot(phone, "walk-in-likely")
    hands.keys("24.9")
    start(hands)
    opened = phone_entries(phone)[-1]
    assert opened["patient"] not in {*listed, acts.patient_id(RUFUS)} and opened["body"]["visit"] is None
    hands.leave()
    hands.act("walk-in")
    hands.act("go-on")
    phone.locator('[aria-label="name"]').fill("rufus")
    hands.keys("24.9")
    hands.tap("[data-take]")
    expect(phone.locator(".start h1")).to_have_text("Rufus")
    start(hands)
    opened = phone_entries(phone)[-1]
    assert opened["patient"] == acts.patient_id(RUFUS) and opened["body"]["visit"]
    assert opened["body"]["patient"]["weight_kg"] == "24.9"


@pytest.mark.parametrize(("width", "height"), [(320, 568), (195, 422)], ids=["320 px", "390 px at 200 %"])
def test_start_and_questions_can_be_used_on_a_small_or_enlarged_screen(
    phone: Page, phone_link: str, width: int, height: int
) -> None:
    """Zoomed to 200 %, a screen of 390 px has the room of one of 195."""
    phone.set_viewport_size({"width": width, "height": height})
    hands = open_list(phone, phone_link)

    def fits() -> None:
        room = "Math.max(...[...document.querySelectorAll('#app *')].map((one) => one.getBoundingClientRect().right))"
        assert phone.evaluate(f"document.documentElement.scrollWidth - {width}") <= 0
        assert phone.evaluate(room) <= width + 1

    fits()
    hands.tap(row(phone, "Otto"))
    fits()
    for tab in ("sedation", "chip", "weight"):
        hands.tap(f"[data-tab={tab}]")
        fits()
    hands.keys("34.2")
    start(hands)
    expect(phone.locator(".top")).to_contain_text("34.2 kg")
    hands.act("animal")
    fits()
    hands.act("wrong-animal")
    fits()
    hands.tap(phone.locator("[data-move-to]").first)
    fits()
    hands.act("stay")
    hands.leave()
    hands.tap(row(phone, "Rufus"))
    fits()
    expect(phone.locator(".resume h1")).to_be_visible(timeout=LIST_WITHIN_MS)
    shot(phone, f"ask-{width}")
