"""The words of probability at the desk: put in by mouse and by keyboard, where the text cursor is."""

from playwright.sync_api import Page, expect

from e2e.desk import Keyboard
from e2e.hands import shot
from e2e.servers import Server


def test_words_go_in_at_the_cursor_and_the_keyboard_is_enough(server: Server, desk: Page) -> None:
    Keyboard(desk).sign_in(server)
    desk.locator(".queue [data-row]").first.click()
    field = desk.locator("#impression")
    field.fill("A stone is .")
    desk.wait_for_load_state()
    field.focus()
    desk.keyboard.press("Control+End")
    desk.keyboard.press("ArrowLeft")
    desk.keyboard.press("Tab")
    expect(desk.locator('[data-word="absent"]')).to_be_focused()
    desk.keyboard.press("ArrowRight")
    desk.keyboard.press("ArrowRight")
    expect(desk.locator('[data-word="unlikely"]')).to_be_focused()
    desk.keyboard.press("Enter")
    expect(field).to_be_focused()
    expect(field).to_have_value("A stone is unlikely.")
    desk.keyboard.press("End")
    desk.keyboard.type(" Thick glands:")
    desk.locator('[data-word="probable"]').click()
    expect(field).to_have_value("A stone is unlikely. Thick glands: probable ")
    desk.keyboard.press("Control+z")
    expect(field).to_have_value("A stone is unlikely. Thick glands:")
    shot(desk, "probability")
    desk.locator("h1").first.click()
    desk.keyboard.press("w")
    expect(desk.locator('[data-word="unlikely"]')).to_be_focused()
