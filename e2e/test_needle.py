"""A needle procedure is recorded on the phone during the exam, and stands at the desk as one that was written there."""

from datetime import datetime
from typing import Any

from playwright.sync_api import Page, expect

from e2e.desk import Keyboard
from e2e.hands import Hands, shot
from e2e.records import phone_entries, wait_sent, wait_written
from e2e.servers import Server
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in
from webapp import dates


def bodies(page: Page) -> list[dict[str, Any]]:
    return [entry["body"] for entry in phone_entries(page) if entry["kind"] == "procedure"]


def open_panel(hands: Hands, words: str) -> None:
    hands.act("more")
    hands.tap_words("needle procedure")
    hands.tap_words(words)


def test_done_not_done_and_what_was_seen_afterwards(phone: Page, desk: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("free_fluid")
    open_panel(hands, "fluid tap")
    keep = phone.locator('[data-act="procedure-done"]')
    expect(keep).to_be_disabled()
    hands.tap_words("done")
    hands.tap_words("by word")
    for _ in range(2):
        hands.tap('[data-check="clotting_known"]')
    hands.tap('[data-check="right_animal"]')
    hands.tap_words("2")
    phone.locator("#procedure-got").fill("4 mL, cloudy; to the laboratory")
    shot(phone, "needle-done")
    hands.act("procedure-done")
    hands.wait_saved(2)
    (made,) = bodies(phone)
    assert {key: made[key] for key in made if key != "when"} == {
        "about": "free_fluid", "procedure": "fluid_tap", "done": True, "attempts": 2, "consent": {"how": "by word"},
        "checks": [{"answer": "no", "id": "clotting_known"}, {"answer": "yes", "id": "right_animal"}],
        "got": "4 mL, cloudy; to the laboratory"}
    hands.tap('[data-procedure="fluid_tap"]')
    phone.locator("#procedure-watched").fill("No bleeding seen.")
    hands.act("watch-done")
    hands.wait_saved(3)
    expect(phone.locator('[data-procedure="fluid_tap"]')).to_contain_text("No bleeding seen.")
    hands.go("spleen")
    open_panel(hands, "needle sample")
    hands.tap_words("not done")
    expect(keep).to_be_disabled()
    hands.tap_words("no safe path")
    hands.act("procedure-done")
    hands.wait_saved(4)
    assert bodies(phone)[-1]["why_not"] == "no safe path"
    hands.tap('[data-procedure="needle_sample"]')
    hands.tap_words("wrong box")
    hands.wait_saved(5)
    expect(phone.locator("[data-procedure]")).to_have_count(0)
    wait_sent(phone)
    Keyboard(desk).sign_in(server)
    exam = phone_entries(phone)[0]["exam"]
    desk.goto(f"{server.address}/review/exam/{exam}/procedures")
    shown = desk.locator("main")
    for words in ("Fluid tap, Free fluid", "2 attempts", "Consent: by word", "clotting known: no", "4 mL, cloudy",
                  "No bleeding seen."):
        expect(shown).to_contain_text(words)
    expect(shown).to_contain_text("wrong box")


def test_half_a_procedure_comes_back_after_a_reload(
    phone: Page, desk: Page, server: Server, phone_link: str
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    open_panel(hands, "core sample")
    hands.tap_words("done")
    phone.locator("#procedure-text").fill("From the left.")
    hands.tap_words("by phone")
    expect(phone.locator("#procedure-consent_by")).to_be_hidden()
    hands.tap(phone.get_by_text("by whom, when", exact=True))
    phone.locator("#procedure-consent_by").fill("owner A. Brandt")
    phone.locator("#procedure-consent_when").fill("08:31")
    wait_written(phone, "08:31")
    shot(phone, "needle-consent")
    phone.reload()
    expect(phone.locator("body[data-screen=resume]")).to_be_attached()
    hands.act("go-on")
    expect(phone.locator("#procedure-text")).to_have_value("From the left.")
    expect(phone.locator("#procedure-consent_by")).to_have_value("owner A. Brandt")
    expect(phone.locator("#procedure-consent_when")).to_have_value("08:31")
    hands.act("procedure-done")
    hands.wait_saved(2)
    (made,) = bodies(phone)
    assert made["text"] == "From the left."
    assert made["consent"] == {"by": "owner A. Brandt", "how": "by phone", "when": made["consent"]["when"]}
    assert made["consent"]["when"][:19] == f"{made['when'][:10]}T08:31:00"
    there = phone.evaluate("(day) => new Date(`${day}T08:31`).getTime() / 1000", made["when"][:10])
    assert datetime.fromisoformat(made["consent"]["when"]).timestamp() == there, "with the phone's own offset"
    wait_sent(phone)
    Keyboard(desk).sign_in(server)
    desk.goto(f"{server.address}/review/exam/{phone_entries(phone)[0]['exam']}/procedures")
    day = dates.day(made["when"][:10], dates.SHORT)
    expect(desk.locator("main")).to_contain_text(f"Consent: owner A. Brandt, by phone, {day} 08:31")
