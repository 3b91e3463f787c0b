"""What is not sent shows on every screen, and louder by word and shape after one day and after three."""

from datetime import datetime, timedelta

from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.records import phone_entries
from e2e.servers import Server
from e2e.test_network import record_a_little
from e2e.test_start import LIST_WITHIN_MS, wait_for_list

AGES = ((23, "calm", "4 not sent, oldest 2"), (25, "old", "4 not sent for over a day"),
        (73, "late", "4 not sent for over 3 days"))


def test_unsent_count_and_age_stand_on_every_screen(phone: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    server.stop()
    hands = Hands(phone)
    record_a_little(hands)
    chip = phone.locator(".chip").first
    for act in ("", "all", "open-sheet", "animal"):
        if act:
            hands.act(act)
        expect(chip).to_contain_text("4 not sent")
        shot(phone, f"chip-{act or 'exam'}")
        if act == "all":
            hands.tap("[data-go=liver]")
        elif act == "open-sheet":
            hands.act("back")
    hands.leave()
    hands.act("walk-in")
    expect(chip).to_contain_text("4 not sent")
    hands.act("go-on")
    expect(chip).to_contain_text("4 not sent")
    hands.keys("8.4")
    # Here it is a sign, not a control: a tap must not throw away what is being typed.
    chip.tap()
    expect(phone.locator('[data-weight="8.4"]')).to_be_visible()
    shot(phone, "chip-start")

    kept = datetime.fromisoformat(phone_entries(phone)[0]["at"])
    shapes = set()
    for hours, age, words in AGES:
        phone.clock.set_fixed_time(kept + timedelta(hours=hours))
        phone.reload()
        expect(phone.locator("body[data-ready=yes]")).to_be_attached(timeout=LIST_WITHIN_MS)
        expect(chip).to_have_attribute("data-age", age)
        expect(chip).to_contain_text(words)
        shapes.add(chip.locator(".chip-sign").inner_html())
        shot(phone, f"chip-{age}")
    assert len(shapes) == 3, "another shape each time, not another colour alone"
