"""One voice to the practice: two windows, and the service worker beside a page, never send at the same time."""

from typing import Any

import pytest
from playwright.sync_api import CDPSession, Page, expect

from e2e.between import Between
from e2e.hands import Hands
from e2e.records import server_entries, wait_sent, wait_until, write_many
from e2e.servers import Server
from e2e.test_line import EXAM, PATIENT
from e2e.test_start import LIST_WITHIN_MS, wait_for_list

MANY = 450


def connected(phone: Page, server: Server, between: Between, phone_link: str) -> None:
    phone.goto(phone_link.replace(server.address, between.address))
    wait_for_list(phone)


@pytest.mark.catalogue(36)
def test_two_windows_asked_at_once_send_each_entry_once(
    phone: Page, server: Server, between: Between, phone_link: str
) -> None:
    connected(phone, server, between, phone_link)
    between.shut()
    entries = write_many(phone, MANY, PATIENT, EXAM)
    second = phone.context.new_page()
    second.goto(between.address)
    expect(second.locator("body[data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    between.wait_for_push()
    for page in (phone, second):
        hands = Hands(page)
        hands.act("settings")
        for _ in range(3):
            page.locator('[data-act="send-now"]').tap()
    phone.wait_for_timeout(300)
    assert between.pushes == 1, "one window's request stands at the gate, the other asks for nothing"
    between.open()
    wait_sent(phone)
    assert (between.most, between.entries) == (1, MANY), "one at a time, and nothing twice"
    assert server_entries(server, entries[0]["device"]) == entries


def background_sync(page: Page, address: str) -> CDPSession:
    """Fire the browser's Background Sync for the app's service worker, as it does when the network is back."""
    session = page.context.new_cdp_session(page)
    known: dict[str, Any] = {}
    session.on("ServiceWorker.workerRegistrationUpdated", lambda event: known.update(
        {one["scopeURL"]: one["registrationId"] for one in event["registrations"]}))
    session.send("ServiceWorker.enable")
    wait_until(page, lambda: f"{address}/" in known)
    session.send("ServiceWorker.dispatchSyncEvent", {
        "origin": address, "registrationId": known[f"{address}/"], "tag": "gelside-send", "lastChance": False})
    return session


@pytest.mark.catalogue(37)
def test_service_worker_waits_for_the_page_and_sends_what_is_left(
    phone: Page, server: Server, between: Between, phone_link: str
) -> None:
    connected(phone, server, between, phone_link)
    beside = phone.context.new_page()
    beside.goto(f"{between.address}/api/ping")
    between.shut()
    entries = write_many(phone, MANY, PATIENT, EXAM)
    phone.locator("body").evaluate("globalThis.dispatchEvent(new Event('online'))")
    between.wait_for_push()
    background_sync(beside, between.address)
    beside.wait_for_timeout(300)
    assert between.pushes == 1, "the page's request stands at the gate, the service worker's does not exist yet"
    # The page is closed with its first batch on the way: the service worker takes over.
    phone.close()
    between.open()
    wait_until(beside, lambda: len(server_entries(server, entries[0]["device"])) == MANY)
    assert server_entries(server, entries[0]["device"]) == entries
    wait_sent(beside)
    # The page's own last request may still have been under way at the server: it was the closed window's.
    assert between.most <= 2 and between.pushes <= 4


@pytest.mark.catalogue(37)
def test_service_worker_and_page_asked_at_once_never_overlap(
    phone: Page, server: Server, between: Between, phone_link: str
) -> None:
    connected(phone, server, between, phone_link)
    entries = write_many(phone, MANY, PATIENT, EXAM)
    background_sync(phone, between.address)
    Hands(phone).act("settings")
    phone.locator('[data-act="send-now"]').tap()
    wait_sent(phone)
    assert (between.most, between.entries) == (1, MANY), "one at a time, and nothing twice"
    assert server_entries(server, entries[0]["device"]) == entries
    expect(phone.locator(f'body[data-pending="0"][data-held="{MANY}"]')).to_be_attached(timeout=10_000)
