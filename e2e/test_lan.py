"""A name of the practice's network without https: the phone refuses, and says why before anything is typed."""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Playwright, expect

from demo import seed
from e2e.conftest import PHONE
from e2e.records import store
from e2e.servers import HOST, Server
from e2e.watch import Watch

NAME = "gelside.lan"


@pytest.fixture
def lan_browser(playwright: Playwright, browser_options: dict[str, Any]) -> Iterator[Browser]:
    """A browser on a network where the server has a name."""
    arguments = [*browser_options["args"], f"--host-resolver-rules=MAP {NAME} {HOST}"]
    running = playwright.chromium.launch(**{**browser_options, "args": arguments})
    yield running
    running.close()


@pytest.mark.catalogue(22)
def test_plain_http_on_a_network_name_starts_no_exam_and_says_why(
    lan_browser: Browser, server: Server, watch: Watch
) -> None:
    # The browser itself tells that it takes no such header from an address that is not safe.
    watch.expect("Cross-Origin-Opener-Policy")
    context = lan_browser.new_context(**PHONE)
    watch.over(context)
    phone = context.new_page()
    address = f"http://{NAME}:{server.port}"
    phone.goto(f"{address}/#phone={seed.PHONE_TOKEN}")
    why = phone.get_by_role("alert").get_by_text("This address is not secure (plain http).")
    expect(why).to_be_visible()
    assert phone.evaluate("isSecureContext") is False
    expect(phone.locator('[data-act="walk-in"]')).to_be_disabled()
    expect(phone.locator('[data-act="pair-start"]')).to_have_count(0)
    assert "token" not in store(phone, "meta"), "the link is not used up on an address that cannot keep it"

    phone.goto("about:blank")
    phone.goto(f"{address}/#pair=a-secret-of-some-pairing")
    expect(why).to_be_visible()
    expect(phone.locator("body[data-screen=list]")).to_be_attached()
    phone.locator('[data-act="settings"]').tap()
    phone.locator('[data-choice="pair this phone"]').tap()
    expect(phone.locator('[data-act="pair"]')).to_be_disabled()
    expect(why).to_be_visible()
    context.close()
