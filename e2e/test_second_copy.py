"""A browser that finds its database damaged throws it away without a word: the phone says so, and loses no entry."""

import json
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from e2e.conftest import PHONE, KillableBrowser
from e2e.hands import Hands, shot
from e2e.locks import set_pin, unlock
from e2e.records import opened, phone_rows, server_entries, store, wait_sent, wait_until
from e2e.servers import Server
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import CAUDAL, begin_walk_in

COPY = """
async () => {
  if (!await caches.has('gelside-second')) return [];
  const cache = await caches.open('gelside-second');
  const told = async (request) => [request.url, await (await cache.match(request))?.text() ?? '[]'];  // gone meanwhile
  return Promise.all((await cache.keys()).map(told));
}
"""


def copied(page: Page) -> list[dict[str, Any]]:
    """The rows that lie in the second copy, by seq."""
    pieces = [json.loads(text) for url, text in page.evaluate(COPY) if not url.endswith("/head")]
    return sorted((row for piece in pieces for row in piece), key=lambda row: int(row["seq"]))


def killed_with_a_damaged_database(killable: KillableBrowser) -> None:
    """As after a flat battery: the file that names the others is no longer what was written."""
    killable.kill()
    [folder] = killable.databases()
    for manifest in folder.glob("MANIFEST-*"):
        manifest.write_bytes(b"\0" * manifest.stat().st_size)


def killed_in_the_middle_of_a_write(killable: KillableBrowser) -> None:
    """As by a death between two writes of the storage's log: the head of a record is there, its text is not. The next
    start takes it for the end and writes on behind it; the one after that finds a log that cannot be read."""
    killable.kill()
    [folder] = killable.databases()
    newest = max(folder.glob("*.log"), key=lambda log: log.stat().st_mtime)
    with newest.open("ab") as log:
        log.write(b"\x5a\x5a\x5a\x5a" + (100).to_bytes(2, "little") + b"\x01")  # check sum, length, a whole record


def measured_without_network(
    killable: KillableBrowser, server: Server, phone_link: str, pin: bool
) -> list[dict[str, Any]]:
    """A walk-in with readings that nobody but this phone has; its rows. Then the browser dies, its database damaged."""
    page = killable.start(**PHONE)
    page.goto(phone_link)
    wait_for_list(page)
    hands = Hands(page)
    if pin:
        set_pin(hands)
        wait_for_list(page)
    hands.send_now()
    server.stop()
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read(CAUDAL, "6.2", "6.4")
    rows = phone_rows(page)
    wait_until(page, lambda: len(copied(page)) == len(rows))
    assert [row["id"] for row in copied(page)] == [row["id"] for row in rows]
    assert all(("sealed" in row) == pin and ("body" in row) != pin for row in copied(page))
    killed_with_a_damaged_database(killable)
    return rows


@pytest.mark.catalogue(75)
def test_a_browser_that_threw_its_database_away_is_told_of_and_every_unsent_entry_is_there_and_arrives(
    killable: KillableBrowser, server: Server, phone_link: str
) -> None:
    before = measured_without_network(killable, server, phone_link, pin=False)

    page = killable.start(**PHONE)
    page.goto(server.address)
    told = page.locator(f'[data-taken-back="{len(before)}"]')
    expect(told).to_contain_text("The browser emptied the storage of this phone", timeout=LIST_WITHIN_MS)
    expect(told).to_contain_text("Pair this phone again")
    expect(page.locator('[data-act="pair-start"]')).to_be_visible()
    shot(page, "taken-back")
    assert phone_rows(page) == before
    hands = Hands(page)
    hands.tap(page.locator("[data-visit]").first)
    expect(page.locator("body[data-screen=exam]")).to_be_attached()
    hands.go("adrenal.left")
    assert hands.boxes(CAUDAL) == ["6.2", "6.4"]
    hands.leave()
    page.reload()
    expect(told).to_be_visible(timeout=LIST_WITHIN_MS)

    server.start()
    with page.expect_event("load"):  # the app takes the link and starts anew by itself
        page.goto(phone_link)
    wait_sent(page)
    device = before[0]["device"]
    wanted = [opened(row["header"], row["body"]) for row in before]
    assert server_entries(server, device) == wanted
    wait_until(page, lambda: copied(page) == [])
    hands.act("taken-back-read")
    expect(told).to_have_count(0)
    page.reload()
    expect(page.locator("body[data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    expect(told).to_have_count(0)


@pytest.mark.catalogue(75)
def test_a_death_in_the_middle_of_a_write_and_one_more_death_lose_nothing(
    killable: KillableBrowser, server: Server, phone_link: str
) -> None:
    """How a browser that is only killed comes to throw its database away: seen twice in walks, without any damage by
    the tests."""
    page = killable.start(**PHONE)
    page.goto(phone_link)
    wait_for_list(page)
    hands = Hands(page)
    hands.send_now()
    server.stop()
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read(CAUDAL, "6.2", "6.4")
    killed_in_the_middle_of_a_write(killable)

    page = killable.start(**PHONE)
    page.goto(server.address)
    hands = Hands(page)
    hands.act("go-on")
    hands.read(CAUDAL, "6.3")
    rows = phone_rows(page)
    wait_until(page, lambda: len(copied(page)) == len(rows))
    killable.kill()

    page = killable.start(**PHONE)
    page.goto(server.address)
    expect(page.locator(f'[data-taken-back="{len(rows)}"]')).to_be_visible(timeout=LIST_WITHIN_MS)
    assert phone_rows(page) == rows


@pytest.mark.catalogue(75)
def test_what_lay_sealed_comes_back_sealed_and_opens_by_the_same_pin(
    killable: KillableBrowser, server: Server, phone_link: str
) -> None:
    before = measured_without_network(killable, server, phone_link, pin=True)

    page = killable.start(**PHONE)
    page.goto(server.address)
    expect(page.locator("body[data-screen=locked]")).to_be_attached(timeout=LIST_WITHIN_MS)
    assert [row["id"] for row in phone_rows(page)] == [row["id"] for row in before]
    assert all("sealed" in row and "body" not in row for row in store(page, "entries").values())
    hands = Hands(page)
    unlock(hands)
    expect(page.locator(f'[data-taken-back="{len(before)}"]')).to_be_visible(timeout=LIST_WITHIN_MS)

    server.start()
    with page.expect_event("load"):  # the app takes the link and starts anew by itself
        page.goto(phone_link)
    expect(page.locator("body[data-screen=locked]")).to_be_attached(timeout=LIST_WITHIN_MS)
    unlock(hands)
    wait_sent(page)
    device = before[0]["device"]
    assert [entry["id"] for entry in server_entries(server, device)] == [row["id"] for row in before]
