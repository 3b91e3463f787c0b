"""A session that ends while someone writes: the text stays, one signs in, and goes on with it. By keyboard alone."""

import pytest
from playwright.sync_api import Page, expect

from demo import seed
from e2e.desk import Keyboard
from e2e.servers import Server
from e2e.watch import Watch

TEXT = "Both glands are larger than in May.\nSee the table; <b>compare</b>."


@pytest.mark.catalogue(67)
def test_the_text_goes_along_through_the_sign_in(server: Server, desk: Page, watch: Watch) -> None:
    watch.expect("401")  # the browser prints it when the text comes back
    keys = Keyboard(desk)
    keys.sign_in(server)
    desk.locator("table.queue a").first.focus()
    keys.press("Enter")
    impression = desk.locator("#impression")
    expect(impression).to_be_visible()
    exam = desk.url
    impression.fill(TEXT)
    desk.context.clear_cookies()
    desk.locator("#save").focus()
    keys.press("Enter")
    expect(desk.get_by_text("You are not signed in any more")).to_be_visible()
    expect(desk.locator("[name=person]")).to_be_focused()
    person, password = seed.SIGN_IN
    keys.type(person)
    keys.press("Tab")
    keys.type(password)
    keys.press("Enter")
    expect(desk.get_by_role("button", name="Go on with it")).to_be_focused()
    keys.press("Enter")
    expect(desk).to_have_url(exam)
    expect(desk.locator("#impression")).to_have_value(TEXT)
