"""Numbers that cannot be meant: a kind question or a clear word, what was typed stays, nothing wrong is kept."""

import pytest
from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.records import phone_entries, readings
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in

CAUDAL = "adrenal.left.caudal_pole_thickness"
NO_NUMBERS = (
    ("6.2.1", "two decimal points"),
    ("6,2,1", "two decimal points"),
    ("6.,2", "two decimal points"),
    (".", "holds no number"),
    ("6.", "a digit is missing"),
    (".62", "a digit is missing"),
)
NO_LENGTHS = (
    ("6.2 inch", "not a unit known here"),
    ("6.2 kg", "not a unit for this value"),
    ("-6.2", "below zero"),
    ("thick", "holds no number"),
    ("6.2 - 6.4 mm", "not a unit known here"),
)
WAYS_OUT = (
    ['[data-act="previous"]'],
    ['[data-act="all"]', '[data-go="spleen"]'],
    ['[data-act="not-seen"]'],
    ['[data-act="open-sheet"]', '[data-open="spleen"] .open-go'],
    ['[data-act="open-sheet"]', '[data-act="close-exam"]'],
    ['[data-act="animal"]', '[data-act="leave"]'],
)
PASTE = """
(text) => {
  const data = new DataTransfer();
  data.setData('text/plain', text);
  document.body.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true }));
}
"""


@pytest.fixture
def hands(phone: Page, phone_link: str) -> Hands:
    """At the caudal pole of a dog's LEFT adrenal, nothing typed."""
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    hands.keep_by_key()
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.take_row(CAUDAL)
    return hands


def kept(hands: Hands) -> list[tuple[str, str]]:
    """(value, typed) of the caudal pole in the phone's journal."""
    return readings(phone_entries(hands.page), CAUDAL)


def refuse(hands: Hands, words: str, typed: str) -> None:
    """Keeping is answered by these words; the text stays and the journal stays as it was."""
    before = len(phone_entries(hands.page))
    hands.act("keep")
    expect(hands.page.locator(".echo")).to_contain_text(words)
    assert hands.typed() == typed
    assert len(phone_entries(hands.page)) == before


def erase_all(hands: Hands, typed: str) -> None:
    """Erase takes one character at a time."""
    for _ in typed:
        assert hands.typed() != ""
        hands.act("erase")
    assert hands.typed() == ""


def test_comma_is_a_decimal_point_and_stays_as_it_was_typed(hands: Hands) -> None:
    hands.page.keyboard.type("6,2")
    expect(hands.page.locator('[data-mm="6.2"]')).to_be_visible()
    expect(hands.page.locator('[data-cm="0.62"]')).to_be_visible()
    shot(hands.page, "echo")
    hands.act("keep")
    hands.wait_saved(2)
    assert kept(hands) == [("6.2", "6,2")]


def test_centimetres_for_a_gland_in_millimetres_are_asked_about(hands: Hands) -> None:
    hands.keys("0.64")
    refuse(hands, "0.64 mm? Mostly 2 to 12 mm here.", "0.64")
    shot(hands.page, "asked-centimetres")
    hands.tap('[data-offer="6.4"]')
    assert hands.typed() == "6.4"
    assert kept(hands) == [], "choosing an offer keeps nothing yet"
    hands.act("keep")
    hands.wait_saved(2)
    assert kept(hands) == [("6.4", "6.4")]


def test_lost_point_is_asked_about_and_never_put_in(hands: Hands) -> None:
    for typed, offer in (("620", "6.2"), ("64", "6.4")):
        hands.keys(typed)
        refuse(hands, f"{typed} mm?", typed)
        expect(hands.page.locator(f'[data-offer="{offer}"]')).to_be_visible()
        hands.tap(".offer:text-is('back')")
        assert hands.typed() == typed
        erase_all(hands, typed)
    assert kept(hands) == []


def test_strange_value_that_is_meant_is_kept_as_it_is(hands: Hands) -> None:
    hands.keys("64")
    refuse(hands, "64 mm?", "64")
    hands.act("sure")
    hands.wait_saved(2)
    assert kept(hands) == [("64", "64")]


def test_typed_centimetres_are_kept_in_millimetres_with_what_was_typed(hands: Hands) -> None:
    hands.act("unit")
    hands.keys("0.64")
    expect(hands.page.locator('[data-mm="6.4"]')).to_be_visible()
    hands.act("keep")
    hands.wait_saved(2)
    entry = phone_entries(hands.page)[-1]["body"]
    assert {key: entry[key] for key in ("value", "unit", "typed", "typed_unit")} == {
        "value": "6.4", "unit": "mm", "typed": "0.64", "typed_unit": "cm"}


@pytest.mark.catalogue(24)
def test_text_that_is_no_number_is_refused_in_words_and_stays(hands: Hands) -> None:
    for typed, words in NO_NUMBERS:
        hands.page.keyboard.type(typed)
        refuse(hands, words, typed)
        erase_all(hands, typed)
    assert kept(hands) == []


def test_keeping_nothing_says_that_nothing_is_typed(hands: Hands) -> None:
    refuse(hands, "Nothing typed yet", "")


@pytest.mark.catalogue(24)
def test_unit_pasted_along_is_understood(hands: Hands) -> None:
    hands.page.evaluate(PASTE, "6.2 mm")
    assert hands.typed() == "6.2 mm"
    hands.act("keep")
    hands.wait_saved(2)
    assert kept(hands) == [("6.2", "6.2 mm")]


def test_centimetres_pasted_along_are_turned_into_millimetres(hands: Hands) -> None:
    hands.page.evaluate(PASTE, " 0,62 cm ")
    hands.act("keep")
    hands.wait_saved(2)
    assert kept(hands) == [("6.2", "0,62 cm")]


def test_other_text_pasted_is_refused_in_words_and_stays(hands: Hands) -> None:
    for pasted, words in NO_LENGTHS:
        hands.page.evaluate(PASTE, pasted)
        refuse(hands, words, pasted)
        erase_all(hands, pasted)
    assert kept(hands) == []


def test_typed_number_is_never_lost_to_another_box_or_structure(hands: Hands) -> None:
    """Leaving a box with digits in it asks first; one-tap answers say that they keep them."""
    hands.keys("6.2")
    hands.act("skip")
    expect(hands.page.locator(".echo")).to_contain_text("6.2 is typed but not kept")
    hands.tap(hands.row("adrenal.left.cranial_pole_thickness").locator(".box").first)
    expect(hands.page.locator(".echo")).to_contain_text("6.2 is typed but not kept")
    assert hands.typed() == "6.2"
    expect(hands.page.locator('[data-act="normal"]')).to_contain_text("keep 6.2")
    before = hands.saved()
    hands.act("normal")
    hands.wait_saved(before + 2)
    assert kept(hands) == [("6.2", "6.2")]


def test_question_about_a_number_also_stands_before_one_tap_answers(hands: Hands) -> None:
    hands.keys("620")
    before = hands.saved()
    hands.act("normal")
    expect(hands.page.locator("[data-asking]")).to_contain_text("620 mm?")
    assert hands.saved() == before and hands.structure() == "adrenal.left"
    assert kept(hands) == []


def test_typed_number_holds_the_hand_whatever_way_it_wants_to_leave(hands: Hands) -> None:
    """Nothing that leaves the box takes the digits along in silence: the screen says that they are not kept."""
    hands.keys("6.2")
    before = len(phone_entries(hands.page))
    expect(hands.page.locator('[data-act="next"]')).to_have_count(0)
    for way in WAYS_OUT:
        for step in way:
            hands.tap(hands.page.locator(step).first)
        expect(hands.page.locator(".echo")).to_contain_text("6.2 is typed but not kept")
        assert (hands.structure(), hands.typed()) == ("adrenal.left", "6.2"), way
        assert len(phone_entries(hands.page)) == before, way
    hands.act("keep")
    hands.wait_saved(before + 1)
    assert kept(hands) == [("6.2", "6.2")]
