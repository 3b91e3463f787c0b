"""Several windows, new versions, deep links: one journal, one voice, and nothing changes without a word."""

import http.server
import io
import re
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

import pytest
from playwright.sync_api import Page, expect

from e2e.conftest import PHONE, NewPage
from e2e.hands import Hands
from e2e.records import phone_entries, readings, server_entries, wait_sent
from e2e.servers import HOST, ROOT, Server
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import begin_walk_in
from e2e.watch import Watch
from webapp import create_app

CAUDAL = "adrenal.left.caudal_pole_thickness"


@pytest.mark.catalogue(15)
def test_two_windows_write_one_unbroken_chain_and_see_each_other(
    phone: Page, server: Server, phone_link: str
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    first = Hands(phone)
    begin_walk_in(first, "dog", "8.4")
    first.go("adrenal.left")
    first.read(CAUDAL, "6.2")

    second = Hands(phone.context.new_page())
    second.page.goto(server.address)
    expect(second.page.locator("body[data-screen=resume]")).to_be_attached(timeout=LIST_WITHIN_MS)
    second.act("go-on")
    second.wait_saved(2)
    second.read(CAUDAL, "6.4")
    first.wait_saved(3)
    first.read(CAUDAL, "6.3")
    second.wait_saved(4)
    assert first.boxes(CAUDAL) == second.boxes(CAUDAL) == ["6.2", "6.4", "6.3"]

    wait_sent(phone)
    entries = phone_entries(phone)
    assert [entry["prev"] for entry in entries[1:]] == [entry["id"] for entry in entries[:-1]]
    assert server_entries(server, entries[0]["device"]) == entries
    assert [value for value, _ in readings(entries, CAUDAL)] == ["6.2", "6.4", "6.3"]


def test_taps_in_two_windows_at_once_are_all_kept(phone: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    first = Hands(phone)
    begin_walk_in(first, "dog", "8.4")
    first.normal("liver")
    second = Hands(phone.context.new_page())
    second.page.goto(server.address)
    expect(second.page.locator("body[data-screen=resume]")).to_be_attached(timeout=LIST_WITHIN_MS)
    second.act("go-on")
    second.wait_saved(2)
    first.go("adrenal.left")
    second.go("adrenal.right")
    for value in ("61", "62", "63"):
        for hands in (first, second):
            hands.page.keyboard.type(f"{value[0]}.{value[1]}")
    first.wait_saved(8)
    second.wait_saved(8)
    entries = phone_entries(phone)
    assert len(entries) == 8
    assert [entry["prev"] for entry in entries[1:]] == [entry["id"] for entry in entries[:-1]]
    for side in ("left", "right"):
        kept = [entry["body"]["value"] for entry in entries
                if entry["kind"] == "read" and entry["body"]["about"].startswith(f"adrenal.{side}")]
        assert kept == ["6.1", "6.2", "6.3"]


def test_any_address_starts_the_app_without_a_server(phone: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    server.stop()
    for path in ("/exam/some-old-bookmark", "/?from=home", "/index.html"):
        phone.goto(server.address + path)
        wait_for_list(phone)
    expect(phone.locator("body[data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)


def test_every_page_of_the_desk_comes_from_the_server(
    phone: Page, server: Server, phone_link: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The demo's phone and desk are one browser: the app kept in it must not stand in a desk page's place."""
    phone.goto(phone_link)
    wait_for_list(phone)
    phone.reload()
    wait_for_list(phone)
    monkeypatch.setenv("GELSIDE_INSTANCE", str(tmp_path / "unused"))
    for rule in create_app({"DATABASE": ":memory:"}).url_map.iter_rules():
        opens = "GET" in (rule.methods or ()) and not rule.arguments and not rule.endpoint.startswith("phone.")
        is_file = "csv" in rule.rule or "file" in rule.endpoint
        if not opens or is_file or rule.rule.startswith(("/api", "/favicon", "/authority")):
            continue
        phone.goto(server.address + rule.rule)
        assert phone.locator("#app").count() == 0, rule.rule


class TwoVersions:
    """The built app on a port of its own, first as it is, then as a newer version of itself."""

    def __init__(self, folder: Path) -> None:
        self.build = folder / "build"
        shutil.copytree(ROOT / "static" / "build", self.build)
        self.server = http.server.ThreadingHTTPServer((HOST, 0), self.handler())
        self.address = f"http://{HOST}:{self.server.server_port}"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def handler(self) -> type[http.server.SimpleHTTPRequestHandler]:
        build = self.build

        class Handler(http.server.SimpleHTTPRequestHandler):
            extensions_map = {**http.server.SimpleHTTPRequestHandler.extensions_map,
                              ".mjs": "text/javascript", ".wasm": "application/wasm"}

            def send_head(self) -> io.BytesIO | BinaryIO | None:
                """Always the whole file: by its date alone, two versions written within a second are one."""
                del self.headers["If-Modified-Since"]
                return super().send_head()

            def translate_path(self, path: str) -> str:
                name = path.split("?")[0].rsplit("/", 1)[-1] or "index.html"
                return str(build / name)

            def end_headers(self) -> None:
                self.send_header("Cache-Control", "no-cache")
                super().end_headers()

            def log_message(self, format: str, *args: object) -> None:
                """Quiet: the browser's own console is what the tests watch."""

        return Handler

    def renew(self) -> None:
        """A new version: another title in the page, its entry in the precache list changed with it."""
        page = self.build / "index.html"
        page.write_text(page.read_text().replace("<title>Gelside</title>", "<title>Gelside, newer</title>"))
        worker = self.build / "sw.js"
        text, changed = re.subn(r'"revision":"[^"]*","url":"/"', '"revision":"newer","url":"/"', worker.read_text())
        assert changed == 1
        worker.write_text(text)

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()


@pytest.fixture
def versions(tmp_path: Path) -> Iterator[TwoVersions]:
    running = TwoVersions(tmp_path)
    yield running
    running.stop()


@pytest.mark.catalogue(56)
@pytest.mark.catalogue(57)
def test_new_version_waits_for_the_word_and_keeps_the_exam(versions: TwoVersions, new_page: NewPage) -> None:
    page = new_page(**PHONE)
    page.route("**/api/**", lambda route: route.abort("connectionrefused"))
    page.goto(versions.address)
    expect(page.locator("body[data-offline=ready][data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    page.reload()  # only from its second start on does the kept version serve the page
    expect(page.locator("body[data-offline=ready][data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    hands = Hands(page)
    record_unconnected(hands)
    entries = phone_entries(page)
    versions.renew()
    page.evaluate("async () => { await (await navigator.serviceWorker.ready).update(); }")
    expect(page.locator("body[data-update=ready][data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    page.reload()
    expect(page.locator("body[data-update=ready][data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    assert page.title() == "Gelside", "nobody said the word yet"

    with page.expect_navigation():
        hands.act("update")
    expect(page.locator("body[data-ready=yes][data-update=no]")).to_be_attached(timeout=LIST_WITHIN_MS)
    assert page.title() == "Gelside, newer"
    assert phone_entries(page) == entries
    hands.tap(page.locator("[data-visit]"))
    hands.go("adrenal.left")
    assert hands.boxes(CAUDAL) == ["6.2"]


@pytest.mark.catalogue(58)
def test_a_new_version_that_is_not_whole_is_not_taken(versions: TwoVersions, new_page: NewPage, watch: Watch) -> None:
    page = new_page(**PHONE)
    page.route("**/api/**", lambda route: route.abort("connectionrefused"))
    page.goto(versions.address)
    expect(page.locator("body[data-offline=ready][data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    page.reload()
    wait_for = page.locator("body[data-offline=ready][data-screen=list]")
    expect(wait_for).to_be_attached(timeout=LIST_WITHIN_MS)
    record_unconnected(Hands(page))
    entries = phone_entries(page)
    watch.expect("404", "bad-precaching-response", "Failed to load")
    versions.renew()
    worker = versions.build / "sw.js"
    text, changed = re.subn(r"/build/rules\.\w+\.json", "/build/rules.NEWER000.json", worker.read_text())
    assert changed == 1
    worker.write_text(text)
    took = """async () => {
      const registration = await navigator.serviceWorker.ready;
      const found = new Promise((done) => registration.addEventListener('updatefound', () => {
        const next = registration.installing;
        next.addEventListener('statechange', () => next.state === 'redundant' && done('redundant'));
      }, { once: true }));
      await registration.update().catch(() => undefined);
      return found;
    }"""
    assert page.evaluate(took) == "redundant"
    page.reload()
    expect(wait_for).to_be_attached(timeout=LIST_WITHIN_MS)
    assert page.title() == "Gelside" and phone_entries(page) == entries


WITHDRAWN = """
self.addEventListener('install', () => self.skipWaiting());
self.addEventListener('activate', (event) => event.waitUntil(self.registration.unregister()));
"""


@pytest.mark.catalogue(60)
def test_a_release_that_is_withdrawn_leaves_the_records(versions: TwoVersions, new_page: NewPage) -> None:
    page = new_page(**PHONE)
    page.route("**/api/**", lambda route: route.abort("connectionrefused"))
    page.goto(versions.address)
    expect(page.locator("body[data-offline=ready][data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    record_unconnected(Hands(page))
    entries = phone_entries(page)
    whole = (versions.build / "sw.js").read_text()
    (versions.build / "sw.js").write_text(WITHDRAWN)
    page.evaluate("async () => { await (await navigator.serviceWorker.ready).update(); }")
    page.wait_for_function("async () => !(await navigator.serviceWorker.getRegistration())")
    (versions.build / "sw.js").write_text(whole)
    page.goto(versions.address)
    expect(page.locator("body[data-offline=ready][data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    assert phone_entries(page) == entries


def record_unconnected(hands: Hands) -> None:
    """A walk-in on a phone that belongs to no practice yet: initials instead of a name from the list."""
    hands.act("walk-in")
    hands.tap_words("dog")
    hands.page.locator("#initials").fill("VS")
    hands.page.locator("#initials").blur()
    hands.keys("8.4")
    hands.act("begin")
    hands.wait_saved(1)
    hands.go("adrenal.left")
    hands.read(CAUDAL, "6.2")
    hands.leave()
