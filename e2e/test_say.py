"""Say or type: words on the phone become proposals, and only a tap keeps one. Without network throughout."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from e2e.conftest import PHONE, NewPage
from e2e.hands import Hands, shot
from e2e.records import phone_entries, wait_written
from e2e.servers import Server
from e2e.test_accessible import faults
from e2e.test_start import LIST_WITHIN_MS, wait_for_list


def begin(hands: Hands) -> None:
    """Pepper's exam by a person who was chosen before; the reader has started."""
    hands.act("settings")
    hands.tap_words("V. Sorrel")
    hands.act("back")
    hands.tap(hands.page.locator("[data-visit]", has_text="Pepper"))
    hands.act("begin")
    expect(hands.page.locator("body[data-screen=exam][data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)


@pytest.fixture
def hands(phone: Page, phone_link: str) -> Hands:
    """In Pepper's exam, the network gone, the line open."""
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin(hands)
    phone.context.set_offline(True)
    hands.act("say")
    hands.rest()
    return hands


def say(hands: Hands, words: str) -> None:
    """The words, as a keyboard or its dictation writes them into the field; the reader has answered."""
    field = hands.page.locator("#say-text")
    field.fill(words)
    expect(hands.page.locator("[data-proposal], [data-act=keep-left], .say .quiet-note").first).to_be_attached()
    expect(hands.page.get_by_text("reading", exact=True)).to_have_count(0)


def bodies(page: Page, kind: str) -> list[dict[str, Any]]:
    return [entry["body"] for entry in phone_entries(page) if entry["kind"] == kind]


def proposal(hands: Hands, place: int = 0) -> Any:
    return hands.page.locator(f'[data-proposal="{place}"]')


def test_a_spoken_reading_is_kept_by_one_tap_with_its_words(hands: Hands) -> None:
    say(hands, "left adrenal caudal pole zero point six four centimetres")
    shot(hands.page, "say-one")
    expect(proposal(hands)).to_have_text("LEFT adrenal, caudal pole thickness: 6.4 mm (0.64 cm)")
    before = hands.saved()
    hands.tap(proposal(hands))
    hands.wait_saved(before + 1)
    assert hands.rest() == 1
    body = bodies(hands.page, "read")[-1]
    assert (body["about"], body["value"], body["unit"]) == ("adrenal.left.caudal_pole_thickness", "6.4", "mm")
    assert (body["typed"], body["typed_unit"]) == ("0.64", "cm")
    assert body["said"] == "left adrenal caudal pole zero point six four centimetres"
    expect(hands.page.locator("#say-text")).to_have_value("")
    expect(hands.page.locator("[data-sticky]")).to_contain_text("LEFT ADRENAL, CAUDAL POLE")
    hands.act("undo")
    hands.wait_saved(before + 2)
    assert bodies(hands.page, "struck")[-1]["why"] == "undo"


def test_shorthand_keeps_three_readings_by_one_tap_and_the_place_goes_on(hands: Hands) -> None:
    before = hands.saved()
    say(hands, "la cd 4.2 4.3 4.4")
    hands.tap(proposal(hands))
    hands.wait_saved(before + 3)
    assert hands.rest() == 1
    say(hands, "cr 3.9")
    expect(proposal(hands)).to_have_text("LEFT adrenal, cranial pole thickness: 3.9 mm (0.39 cm)")
    hands.tap(proposal(hands))
    expect(hands.page.locator("#say-text")).to_have_value("")
    hands.wait_judged()
    assert [body["value"] for body in bodies(hands.page, "read")] == ["4.2", "4.3", "4.4", "3.9"]
    hands.act("close")
    hands.go("adrenal.left")
    assert hands.boxes("adrenal.left.caudal_pole_thickness") == ["4.2", "4.3", "4.4"]


def test_the_place_goes_on_for_a_minute_and_no_longer(hands: Hands) -> None:
    hands.page.clock.install()
    say(hands, "left adrenal")
    hands.page.locator("#say-text").press("Enter")
    expect(hands.page.locator("[data-sticky]")).to_contain_text("LEFT ADRENAL")
    hands.page.clock.run_for(59_000)
    hands.page.locator("#say-text").fill("cd 4.2")
    hands.page.clock.run_for(400)
    expect(proposal(hands)).to_contain_text("LEFT adrenal, caudal pole")
    hands.page.clock.run_for(2_000)
    expect(hands.page.locator("[data-sticky]")).to_have_count(0)
    hands.page.locator("#say-text").fill("cd 4.3")
    hands.page.clock.run_for(400)
    expect(hands.page.locator('[data-proposal="0"][data-asks=side]')).to_be_attached()


def test_what_is_left_open_is_asked_by_buttons(hands: Hands) -> None:
    say(hands, "kidney four point two")
    expect(hands.page.locator('[data-proposal="0"]')).to_have_attribute("data-asks", "side")
    shot(hands.page, "say-asked")
    hands.tap_words("RIGHT")
    expect(hands.page.locator('[data-proposal="0"]')).to_have_attribute("data-asks", "unit")
    hands.tap_words("42 mm (4.2 cm)")
    expect(proposal(hands)).to_have_text("RIGHT kidney, length: 42 mm (4.2 cm)")
    before = hands.saved()
    hands.tap(proposal(hands))
    hands.wait_saved(before + 1)
    assert hands.rest() == 3
    body = bodies(hands.page, "read")[-1]
    assert (body["about"], body["value"]) == ("kidney.right.length", "42")
    assert (body["typed"], body["typed_unit"]) == ("4.2", "cm")


def test_a_tenfold_slip_is_asked_with_both_values_and_never_mended(hands: Hands) -> None:
    say(hands, "la cd 62")
    expect(hands.page.locator('[data-choice="yes, 62 mm (6.2 cm)"]')).to_be_visible()
    hands.tap_words("6.2 mm (0.62 cm)")
    before = hands.saved()
    hands.tap(proposal(hands))
    hands.wait_saved(before + 1)
    assert bodies(hands.page, "read")[-1]["value"] == "6.2"


def test_three_structures_normal_by_one_tap_and_no_word_is_lost(hands: Hands) -> None:
    say(hands, "liver, spleen and stomach normal. bladder polyp today")
    expect(hands.page.locator("[data-proposal]")).to_have_count(3)
    shot(hands.page, "say-three")
    before = hands.saved()
    hands.act("keep-all")
    hands.wait_saved(before + 3)
    hands.act("keep-left")
    hands.wait_saved(before + 4)
    assert hands.rest() == 2
    assert [(body["about"], body["normal"]) for body in bodies(hands.page, "seen")] == [
        ("liver", True), ("spleen", True), ("stomach", True)]
    assert bodies(hands.page, "noted")[-1]["text"] == "bladder polyp today"


def test_not_seen_carries_its_reason_and_asks_for_one_that_is_missing(hands: Hands) -> None:
    say(hands, "right adrenal cranial pole not seen, gas. caudal pole not seen")
    expect(proposal(hands)).to_have_text("RIGHT adrenal, cranial pole: not seen (gas)")
    hands.tap(proposal(hands))
    expect(hands.page.locator('[data-proposal="1"][data-asks=reason]')).to_be_attached()
    hands.tap_words("ribs")
    before = hands.saved()
    hands.tap(proposal(hands, 1))
    hands.wait_saved(before + 1)
    assert [(body["about"], body["why"]) for body in bodies(hands.page, "seen")] == [
        ("adrenal.right.cranial_pole", ["gas"]), ("adrenal.right.caudal_pole", ["ribs"])]


def test_findings_and_no_free_fluid_are_kept_as_they_were_said(hands: Hands) -> None:
    say(hands, "right adrenal mass thirty eight point five by twenty nine point four millimetres, no free fluid")
    expect(proposal(hands, 1)).to_have_text("Free fluid: NONE")
    hands.act("keep-all")
    hands.wait_judged()
    found = bodies(hands.page, "found")
    assert [(body["about"], body["finding"], body.get("dimensions")) for body in found] == [
        ("adrenal.right", "mass", ["38.5", "29.4"]), ("free_fluid", "none", None)]


def test_strike_that_names_the_reading_it_strikes(hands: Hands) -> None:
    say(hands, "la cd 4.2")
    hands.tap(proposal(hands))
    expect(hands.page.locator("#say-text")).to_have_value("")
    say(hands, "strike that")
    expect(proposal(hands)).to_have_text("strike LEFT adrenal, caudal pole thickness 4.2 mm (0.42 cm)")
    before = hands.saved()
    hands.tap(proposal(hands))
    hands.wait_saved(before + 1)
    assert bodies(hands.page, "struck")[-1]["about"] == "adrenal.left.caudal_pole_thickness"


def test_half_said_words_survive_a_reload(hands: Hands) -> None:
    say(hands, "left kidney len")
    wait_written(hands.page, "left kidney len")
    hands.page.reload()
    expect(hands.page.locator("body[data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    hands.act("go-on")
    hands.act("say")
    expect(hands.page.locator("#say-text")).to_have_value("left kidney len")


MIXED = ("left adrenal caudal pole 6.2 mm, kidney four point two, right adrenal cranial pole not seen, "
         "right adrenal mass 38 by 29 mm. the dog was restless")
CUT_OFF = """() => [...document.querySelectorAll('.say button, .say textarea, .say p')]
  .filter((one) => one.getBoundingClientRect().right > innerWidth + 1 || one.scrollWidth > one.clientWidth + 1)
  .map((one) => one.textContent)"""


@pytest.mark.parametrize("width", [390, 320])
def test_nothing_of_the_line_is_cut_off_or_hard_to_read(hands: Hands, width: int) -> None:
    page = hands.page
    page.set_viewport_size({"width": width, "height": 690})
    say(hands, MIXED)
    expect(page.locator("[data-proposal]")).to_have_count(4)
    shot(page, f"say-mixed-{width}")
    assert page.evaluate(CUT_OFF) == []
    assert faults(page) == []
    hands.act("keep-all")
    expect(page.locator("[data-kept-of-words]")).to_have_text("kept: 2 of 4")
    assert page.locator("[data-asks=side] .choice").last.bounding_box()["y"] < 690  # type: ignore[index]
    hands.act("close")
    shot(page, f"say-key-{width}")
    assert faults(page) == []


FAKE = """
window.SpeechRecognition = class {
  start() { window.heard = (words) => this.onresult({ results: [[{ transcript: words }]] }); }
  stop() { this.onend(); }
};
"""


@pytest.mark.parametrize("allowed", [True, False])
def test_the_browser_listens_only_where_the_practice_allows_it(
    server: Server, new_page: NewPage, phone_link: str, allowed: bool
) -> None:
    """A fake provider behind the same interface: what it hears is read like typed words."""
    if allowed:
        server.stop()
        (server.instance / "config.toml").write_text('SPEECH = "browser"\n', encoding="utf-8")
        server.start()
    page = new_page(**PHONE)
    page.add_init_script(FAKE)
    page.goto(phone_link)
    wait_for_list(page)
    hands = Hands(page)
    begin(hands)
    hands.act("say")
    if not allowed:
        expect(page.locator("#say-text")).to_be_visible()
        expect(page.locator('[data-act="listen"]')).to_have_count(0)
        return
    hands.act("listen")
    page.evaluate("heard('left kidney six centimetres')")
    expect(proposal(hands)).to_have_text("LEFT kidney, length: 60 mm (6.0 cm)")
    hands.act("listen")
    expect(page.locator('[data-act="listen"]')).to_have_attribute("aria-pressed", "false")
