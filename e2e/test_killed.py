"""A phone that dies without warning has everything it said it had."""

import pytest
from playwright.sync_api import expect

from e2e.between import Between, Fate
from e2e.conftest import PHONE, KillableBrowser
from e2e.records import phone_entries, server_entries, wait_sent, wait_until, write_many
from e2e.servers import Server
from e2e.test_line import EXAM, PATIENT
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


@pytest.mark.catalogue(35)
def test_phone_killed_while_it_sends_converges_at_the_next_start(
    killable: KillableBrowser, server: Server, between: Between, phone_link: str
) -> None:
    """Four deaths by SIGKILL: with the first request before the server, with its answer on the way back, with the
    second batch on its way, and at a moment of its own choosing. (Every step of it: tests/js/killed.)"""
    page = killable.start(**PHONE)
    page.goto(phone_link.replace(server.address, between.address))
    wait_for_list(page)
    entries = write_many(page, 450, PATIENT, EXAM)
    device = entries[0]["device"]
    fates: list[Fate] = ["cut before", "cut after", "pass", "cut before"]
    for fate in fates:
        between.shut()
        between.fate = lambda number, fate=fate: fate  # type: ignore[misc]
        page.goto(between.address)
        assert between.waiting.wait(15)
        killable.kill()
        between.open()
        before = between.pushes
        page = killable.start(**PHONE)
    between.fate = lambda number: "pass"
    page.goto(between.address)
    wait_until(page, lambda: between.pushes > before)
    killable.kill()

    page = killable.start(**PHONE)
    page.goto(between.address)
    wait_sent(page)
    assert server_entries(server, device) == phone_entries(page) == entries
    expect(page.locator('body[data-held="450"][data-own="450"]')).to_be_attached(timeout=LIST_WITHIN_MS)
