"""Today's list on the phone: as the desk left it, with the questions, and what was said before the probe was lifted."""

import re

from playwright.sync_api import Locator, Page, expect

from e2e.appointments import at_the_desk
from e2e.hands import Hands, shot
from e2e.records import phone_entries
from e2e.servers import Server
from e2e.test_start import LIST_WITHIN_MS, wait_for_list

KEPT_LB = "8.391458845"  # 18.5 lb x 0.45359237 kg (the pound of 1959), by hand


def row(page: Page, name: str) -> Locator:
    return page.locator("[data-visit]", has=page.locator("b", has_text=name))


def order(page: Page) -> list[str]:
    return page.locator("[data-visit] b").all_inner_texts()


def open_list(page: Page, link: str, who: str = "V. Sorrel") -> Hands:
    """The list of a phone that knows who scans."""
    page.goto(link)
    wait_for_list(page)
    hands = Hands(page)
    hands.act("settings")
    hands.tap_words(who)
    hands.act("back")
    expect(page.locator("body[data-screen=list]")).to_be_attached()
    expect(page.locator("[data-visit]").first).to_be_visible()  # it is read anew
    hands.rest()
    return hands


def start(hands: Hands) -> None:
    hands.act("begin")
    expect(hands.page.locator("body[data-screen=exam][data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)


def test_list_stands_as_the_desk_left_it_without_a_network(phone: Page, server: Server, phone_link: str) -> None:
    with at_the_desk(server) as practice:
        practice.change("Otto", "time", "08:15")
        practice.change("Otto", "order", 0)
        practice.change("Otto", "place", "room 2")
        practice.change("Juno", "cancelled", True)
        practice.change("Tilly", "date", "2099-01-04")
        practice.change("Rufus", "time", "16:00")
        practice.change_elsewhere("Rufus", "time", "17:30")
        practice.change("Pepper", "question", {"text": "Liver, and the gallbladder?", "structures": ["liver"]})
        practice.fact("Bramble", "weight_kg", "19.1", source="scales", date="2026-11-20")
    open_list(phone, phone_link)
    server.stop()
    phone.reload()
    wait_for_list(phone)
    expect(row(phone, "Otto")).to_contain_text("08:15")
    expect(row(phone, "Otto")).to_contain_text("room 2; was 14:30, place is new")
    assert order(phone)[:2] == ["Otto", "Pepper"]
    expect(row(phone, "Juno")).to_have_attribute("data-away", "cancelled")
    expect(row(phone, "Tilly")).to_have_attribute("data-away", "planned for 4 Jan 2099 now")
    assert order(phone)[-2:] == ["Juno", "Tilly"]
    # Which stands first goes by the desks' ids, which are made by chance: no clock decides.
    either = re.compile(r"two answers for time: (16:00 \(IF\) or 17:30 \(RD\)|17:30 \(RD\) or 16:00 \(IF\))")
    expect(row(phone, "Rufus")).to_contain_text(either)
    expect(row(phone, "Pepper")).to_contain_text("Liver, and the gallbladder?")
    expect(row(phone, "Bramble")).to_contain_text("19.1 kg")
    shot(phone, "list-changed")


def test_own_animals_come_first_until_the_plan_is_wanted(phone: Page, server: Server, phone_link: str) -> None:
    with at_the_desk(server) as practice:
        for name in ("Pepper", "Otto"):
            practice.change(name, "sonographer", "RD")
    hands = open_list(phone, phone_link)
    expect(phone.locator('[data-group="order"]')).to_be_visible()
    assert order(phone)[0] == "Bramble" and order(phone)[-2:] == ["Pepper", "Otto"]
    hands.tap_words("as planned")
    assert order(phone)[0] == "Pepper" and order(phone)[-1] == "Otto"
    hands.tap_words("mine first")
    assert order(phone)[0] == "Bramble"


def test_earlier_exams_of_both_records_of_a_merged_animal(phone: Page, server: Server, phone_link: str) -> None:
    """Tilly and Biscuit have an earlier exam each; told to be one animal, the one that stays has both."""
    with at_the_desk(server) as practice:
        gone = (practice.patient("Biscuit"), "Biscuit")
        practice.merge(gone, "Tilly")
    hands = open_list(phone, phone_link)
    hands.tap(row(phone, "Tilly").first)
    expect(phone.locator("[data-earlier]")).to_have_attribute("data-earlier", "4")
    hands.tap("[data-earlier] summary")
    for weight in ("10.2 kg", "9.7 kg", "5.8 kg", "4.9 kg"):
        expect(phone.locator("[data-earlier]")).to_contain_text(weight)
    hands.keys("9.7")
    start(hands)
    hands.act("animal")
    expect(phone.get_by_text("earlier exam", exact=False)).to_have_count(4)


def test_planned_exam_starts_in_two_taps_or_with_a_weight_of_today_in_as_many_as_it_has_digits(
    phone: Page, phone_link: str
) -> None:
    hands = open_list(phone, phone_link)
    hands.tap(row(phone, "Otto"))
    start(hands)
    assert hands.rest() == 2
    opened = phone_entries(phone)[0]["body"]
    assert (opened["patient"]["weight_kg"], opened["patient"]["weight_source"]) == ("34.2", "record")
    hands.leave()
    hands.rest()
    hands.tap(row(phone, "Tilly"))
    hands.act("go-on")
    hands.keys("9.65")
    start(hands)
    assert hands.rest() == 7  # one of them answers "You wrote for Otto just now"
    opened = phone_entries(phone)[-1]["body"]
    assert (opened["patient"]["weight_kg"], opened["patient"]["weight_source"]) == ("9.65", "scales today")


def test_pounds_are_told_and_kept_as_exact_kilograms(phone: Page, server: Server, phone_link: str) -> None:
    hands = open_list(phone, phone_link)
    server.stop()
    hands.act("walk-in")
    hands.tap_words("dog")
    hands.act("unit")
    hands.keys("18.5")
    expect(phone.locator("[data-echo]")).to_have_text("18.5 lb = 8.39 kg")
    hands.tap_words("owner")
    start(hands)
    assert hands.rest() == 9
    expect(phone.locator(".top")).to_contain_text("dog, 8.39 kg (18.5 lb)")
    patient = phone_entries(phone)[0]["body"]["patient"]
    assert {name: patient[name] for name in patient if name.startswith("weight")} == {
        "weight_kg": KEPT_LB, "weight_source": "owner", "weight_typed": "18.5", "weight_typed_unit": "lb"}
    hands.go("adrenal.left")
    hands.read("adrenal.left.caudal_pole_thickness", "6.2", "6.4")
    hands.read("adrenal.left.cranial_pole_thickness", "5.8", "5.9")
    hands.wait_judged()
    expect(phone.locator('[data-about="adrenal.left.maximum_thickness"]').first).to_contain_text("dogs over 5 to 10 kg")


def test_preparation_takes_two_taps_each_and_none_is_asked_for(phone: Page, phone_link: str) -> None:
    hands = open_list(phone, phone_link)
    hands.tap(row(phone, "Otto"))
    hands.rest()
    for tab, words in (("fasted", "yes"), ("sedation", "butorphanol"), ("fluids", "running"), ("steroids", "no"),
                       ("recumbency", "dorsal"), ("coat", "clip refused")):
        hands.tap(f"[data-tab={tab}]")
        hands.tap_words(words)
        assert hands.rest() == 2
        shot(phone, f"preparation-{tab}")
    start(hands)
    context = phone_entries(phone)[0]["body"]["context"]
    assert {"fasted": True, "sedation": ["butorphanol"], "fluids": "running", "steroids": "no", "recumbency": "dorsal",
            "coat": "clip refused"}.items() <= context.items()


def test_last_answer_is_offered_and_recorded_only_by_a_tap(phone: Page, phone_link: str) -> None:
    """How it lay in the exam before on this phone, offered for the next animal."""
    hands = open_list(phone, phone_link)
    hands.tap(row(phone, "Pepper"))
    hands.tap("[data-tab=recumbency]")
    hands.tap_words("left lateral")
    start(hands)
    hands.leave()
    hands.tap(row(phone, "Bramble"))
    hands.act("go-on")
    hands.tap("[data-tab=recumbency]")
    expect(phone.locator("[data-before=recumbency]")).to_have_text("as last time: left lateral")
    start(hands)
    assert "recumbency" not in phone_entries(phone)[-1]["body"]["context"]
    hands.leave()
    hands.tap(row(phone, "Juno"))
    hands.act("go-on")
    hands.tap("[data-tab=recumbency]")
    expect(phone.locator("[data-before=recumbency]")).to_have_count(0)


def test_question_is_asked_where_the_thumb_is_before_the_exam_ends(phone: Page, phone_link: str) -> None:
    hands = open_list(phone, phone_link)
    hands.tap(row(phone, "Otto"))
    start(hands)
    hands.act("open-sheet")
    asked = phone.locator(".answer-question")
    expect(asked).to_contain_text("Blood at the tip of the penis")
    box = phone.locator('[data-answer="partly"]').bounding_box()
    assert box and box["y"] > 844 * 0.45 and box["y"] + box["height"] < 844
    expect(phone.locator('[data-act="close-exam"]')).to_have_text("finish exam, the question stays open")
    hands.tap('[data-answer="not possible"]')
    expect(phone.locator('[data-answer="not possible"]')).to_have_attribute("aria-pressed", "true")
    expect(phone.locator('[data-act="close-exam"]')).to_have_text("finish exam")
    hands.act("close-exam")
    expect(phone.locator("body[data-screen=list]")).to_be_attached()
    said = [entry["body"] for entry in phone_entries(phone) if entry["kind"] == "set"]
    assert said == [{"about": "question.answered", "value": "not possible"}]
