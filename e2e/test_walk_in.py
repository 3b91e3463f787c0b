"""An animal that is on no list: species and weight are enough, and what cannot be compared says why."""

from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.records import phone_entries, wait_sent
from e2e.servers import Server
from e2e.test_start import LIST_WITHIN_MS, wait_for_list

CAUDAL = "adrenal.left.caudal_pole_thickness"


def begin_walk_in(hands: Hands, species: str, weight: str | None) -> None:
    """A walk-in with species and weight (None: said to be unknown) and nothing else."""
    hands.act("walk-in")
    hands.tap_words(species)
    hands.say_who("V. Sorrel")
    if weight:
        hands.keys(weight)
    else:
        hands.act("weight-unknown")
    hands.act("begin")
    expect(hands.page.locator("body[data-screen=exam][data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)


def read_both_poles(hands: Hands) -> None:
    hands.go("adrenal.left")
    hands.read(CAUDAL, "6.2", "6.4")
    hands.read("adrenal.left.cranial_pole_thickness", "5.8", "5.9")
    hands.wait_judged()


def test_walk_in_with_species_and_weight_alone_is_compared_and_sent(
    phone: Page, server: Server, phone_link: str
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    read_both_poles(hands)
    line = phone.locator('[data-about="adrenal.left.maximum_thickness"]').first
    expect(line).to_contain_text("outside 6.3 mm: above 5.5 mm (dogs over 5 to 10 kg, LEFT)")
    shot(phone, "walk-in-outside")
    line.tap()
    expect(phone.locator(".source").first).to_contain_text("Melián et al. 2021")
    shot(phone, "source")
    wait_sent(phone)
    opening = phone_entries(phone)[0]["body"]
    assert opening["patient"]["species"] == "dog" and opening["patient"]["weight_kg"] == "8.4"
    assert opening["patient"]["name"] is None and opening["visit"] is None


def test_unknown_weight_is_said_instead_of_a_verdict(phone: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    server.stop()
    hands = Hands(phone)
    begin_walk_in(hands, "dog", None)
    expect(phone.locator(".top")).to_contain_text("weight unknown")
    read_both_poles(hands)
    line = phone.locator('[data-about="adrenal.left.maximum_thickness"]').first
    expect(line).to_contain_text("no verdict")
    expect(line).to_contain_text("weight")
    shot(phone, "weight-unknown")
    for grade in ("outside", "within"):
        expect(phone.locator(f".line-{grade}, .mark-{grade}")).to_have_count(0)
    opening = phone_entries(phone)[0]["body"]
    assert opening["patient"]["weight_kg"] is None


def test_exam_asks_for_species_before_it_starts(phone: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    hands.act("walk-in")
    hands.tap_words("V. Sorrel")
    hands.keys("8.4")
    hands.act("begin")
    expect(phone.locator(".problem-words")).to_have_text("Dog or cat? The limits differ.")
    expect(phone.locator('[data-weight="8.4"]')).to_be_visible()
    assert phone_entries(phone) == []


def test_weight_that_no_dog_has_is_not_taken_and_stays(phone: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    hands.act("walk-in")
    hands.tap_words("dog")
    hands.tap_words("V. Sorrel")
    for typed, words in (("842", "842 kg for a dog?"), ("8..4", "two decimal points"), ("", "Type the weight")):
        hands.keys(typed)
        hands.act("begin")
        expect(phone.locator(".problem-words")).to_contain_text(words)
        expect(phone.locator(f'[data-weight="{typed or "_"}"]')).to_be_visible()
        for _ in typed:
            hands.act("erase")
    assert phone_entries(phone) == []


AT_ONCE = """
() => new MutationObserver((_, watching) => {
  const all = document.querySelector('[data-act="all"]');
  if (all) { watching.disconnect(); all.click(); }
}).observe(document.body, { childList: true, subtree: true })
"""


def test_a_tap_in_the_first_moment_of_an_exam_counts(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    phone.evaluate(AT_ONCE)
    hands = Hands(phone)
    hands.act("walk-in")
    hands.tap_words("dog")
    hands.tap_words("V. Sorrel")
    hands.act("weight-unknown")
    hands.act("begin")
    expect(phone.locator("body[data-screen=all][data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    hands.wait_judged()
    expect(phone.locator("body[data-screen=all]")).to_be_attached()
