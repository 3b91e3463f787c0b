"""What was begun in a panel and not kept is there again after a kill, and nothing of it is recorded twice."""

from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.records import phone_entries, store, wait_until, wait_written
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import begin_walk_in


def again(phone: Page) -> None:
    wait_written(phone, "'structure'")
    phone.reload()
    expect(phone.locator("body[data-screen=resume]")).to_be_attached(timeout=LIST_WITHIN_MS)
    Hands(phone).act("go-on")
    expect(phone.locator("body[data-screen=exam]")).to_be_attached()


def test_a_finding_and_a_note_that_were_begun_come_back_after_a_kill(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("spleen")
    hands.act("finding")
    hands.tap_words("nodule")
    for key in "12":
        hands.tap(f'[data-size="{key}"]')
    phone.locator("#finding-text").fill("near the hilus")
    wait_written(phone, "near the hilus")
    again(phone)
    expect(phone.locator(".size-typed").first).to_have_text("12")
    expect(phone.locator("#finding-text")).to_have_value("near the hilus")
    before = hands.saved()
    hands.act("finding-done")
    hands.wait_saved(before + 1)
    wait_until(phone, lambda: not store(phone, "draft")["position"]["panel"])
    again(phone)
    expect(phone.locator("#finding-text")).to_have_count(0)
    found = [entry["body"] for entry in phone_entries(phone) if entry["kind"] == "found"]
    assert [(one["dimensions"], one["text"]) for one in found] == [(["12"], "near the hilus")]

    hands.act("more")
    hands.tap_words("write a note")
    phone.locator("#note-text").fill("Capsule smo")
    wait_written(phone, "Capsule smo")
    again(phone)
    hands.act("more")
    hands.tap_words("write a note")
    expect(phone.locator("#note-text")).to_have_value("Capsule smo")
    hands.act("note-done")
    hands.wait_saved(before + 2)
    hands.act("more")
    hands.tap_words("write a note")
    expect(phone.locator("#note-text")).to_have_value("")


def test_a_finding_that_is_not_kept_holds_the_hand_until_it_is_kept_or_given_up(
    phone: Page, phone_link: str
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("spleen")
    before = hands.saved()
    hands.act("finding")
    hands.act("previous")
    expect(phone.locator("[data-structure]")).not_to_have_attribute("data-structure", "spleen")
    hands.go("spleen")
    hands.act("finding")
    hands.tap_words("nodule")
    held = phone.locator(".panel [role=alert]")
    for way in ("previous", "open-sheet"):
        hands.act(way)
        expect(held).to_have_text('This is not kept yet: keep it, or give it up by "back".')
        expect(phone.locator("[data-structure]")).to_have_attribute("data-structure", "spleen")
    shot(phone, "held-by-a-finding")
    hands.act("finding-done")
    hands.wait_saved(before + 1)
    hands.act("finding")
    hands.tap_words("cyst")
    hands.act("close")
    hands.act("previous")
    expect(phone.locator("[data-structure]")).not_to_have_attribute("data-structure", "spleen")
    assert [entry["body"]["finding"] for entry in phone_entries(phone) if entry["kind"] == "found"] == ["nodule"]


# Where the first answer stood whenever the page was drawn, before the page's own code runs.
STOOD = """
globalThis.stood = [];
new MutationObserver(() => {
  const answer = document.querySelector('.resume [data-act=go-on]');
  if (answer) stood.push(Math.round(answer.getBoundingClientRect().top));
}).observe(document, { subtree: true, childList: true, attributes: true });
"""


def test_the_answer_after_an_interruption_stands_still_under_the_finger(phone: Page, phone_link: str) -> None:
    """Drawn anew between a finger's coming down and its click, a button that moves is not what was touched."""
    phone.goto(phone_link)
    wait_for_list(phone)
    begin_walk_in(Hands(phone), "dog", "8.4")
    again(phone)  # what the screen explains the first time is gone the next
    phone.add_init_script(STOOD)
    phone.reload()
    expect(phone.locator("body[data-screen=resume][data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    for _ in range(6):  # the list is read again, and the page drawn
        drawn = phone.evaluate("stood.length")
        phone.evaluate("dispatchEvent(new Event('focus'))")
        wait_until(phone, lambda drawn=drawn: phone.evaluate("stood.length") > drawn)  # type: ignore[misc]
    stood = phone.evaluate("stood")
    assert len(set(stood)) == 1, stood
