"""A phone that dies without warning has everything it said it had."""

from playwright.sync_api import expect

from e2e.conftest import PHONE, KillableBrowser
from e2e.servers import Server
from e2e.test_start import LIST_WITHIN_MS, wait_for_list


def test_list_and_rules_survive_a_killed_browser_without_a_server(
    killable: KillableBrowser, server: Server, phone_link: str
) -> None:
    page = killable.start(**PHONE)
    page.goto(phone_link)
    wait_for_list(page)
    server.stop()
    killable.kill()

    page = killable.start(**PHONE)
    page.goto(server.address)
    wait_for_list(page)
    expect(page.locator("body[data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    assert page.locator("[data-visit]").count() == 12
