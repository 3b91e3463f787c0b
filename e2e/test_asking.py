"""The desk asks the person who scanned, on the phone it stands in the list and in the exam; the answer comes back."""

from contextlib import suppress

from playwright.sync_api import Locator, Page, expect
from playwright.sync_api import TimeoutError as PlaywrightTimeout

from e2e.desk import Keyboard
from e2e.hands import Hands, shot
from e2e.records import phone_entries, wait_sent, wait_until
from e2e.servers import Server
from e2e.test_accessible import faults
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import begin_walk_in, read_both_poles

QUESTION = "Was the cranial pole seen whole?"


def opened(phone: Page, line: Locator) -> bool:
    """Tap the row, which takes no tap for a moment after it moved, and say that the animal is the right one."""
    with suppress(PlaywrightTimeout):  # the tap before came through meanwhile, and the screen changed
        if phone.locator("body[data-screen=list]").count():
            line.tap(timeout=1000)
        if phone.locator('[data-act="go-on"]').count():
            phone.locator('[data-act="go-on"]').tap(timeout=1000)
    return phone.locator("body[data-screen=exam]").count() > 0


def test_a_question_goes_to_the_phone_and_its_answer_stands_at_the_desk(
    desk: Page, phone: Page, server: Server, phone_link: str
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    read_both_poles(hands)
    wait_sent(phone)
    exam = str(phone_entries(phone)[0]["exam"])
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    desk.goto(f"{server.address}/review/exam/{exam}")
    keyboard.tab_to(desk.locator("#ask"))
    keyboard.press("Enter")
    keyboard.write(desk.locator("#ask-about"), "LEFT adrenal")
    keyboard.write(desk.locator("#ask-text"), QUESTION)
    assert faults(desk) == []
    keyboard.tab_to(desk.get_by_role("button", name="Ask", exact=True))
    keyboard.press("Enter")
    expect(desk.locator("#asked")).to_contain_text("not answered yet")
    assert faults(desk) == []

    hands.leave()
    hands.send_now()
    line = phone.locator(f'[data-visit="{exam}"]')
    expect(line).to_contain_text(f"asks: {QUESTION}", timeout=LIST_WITHIN_MS)
    assert faults(phone) == []
    shot(phone, "asked-list")
    wait_until(phone, lambda: opened(phone, line))
    asked = phone.locator("[data-asked]")
    expect(asked).to_contain_text(QUESTION)
    assert faults(phone) == []
    shot(phone, "asked-exam")
    hands.act("go-asked")
    assert hands.structure() == "adrenal.left"
    hands.act("answer-asked")
    phone.locator("#answer-text").fill("Yes, from the flank.")
    assert faults(phone) == []
    shot(phone, "asked-answer")
    hands.act("answer-done")
    expect(asked).to_have_count(0)
    expect(phone.locator("[data-answered]")).to_contain_text("Yes, from the flank.")
    wait_sent(phone)

    desk.reload()
    expect(desk.locator("#asked")).to_contain_text("Answer: Yes, from the flank.")
    expect(desk.locator("#asked")).not_to_contain_text("not answered yet")
    assert faults(desk) == []
    shot(desk, "desk-asked")
