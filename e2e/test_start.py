"""The first minute: the phone app and the desk open, complain of nothing, and the phone needs no server."""

import gzip
import re
from collections import Counter

from playwright.sync_api import Page, Route, expect

from demo import seed
from e2e.between import Between
from e2e.records import store, wait_until
from e2e.servers import Server
from e2e.watch import Watch

LIST_WITHIN_MS = 60_000
TABLES, RULES = re.compile(r"tables\."), re.compile(r"rules\.")
LARGEST_FIRST_DOWNLOAD = 300_000  # bytes, gzip


def wait_for_list(page: Page) -> None:
    """The list of the day stands, with the exams of the past, and the app is kept for use without network."""
    expect(page.locator("body[data-ready=yes][data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    expect(page.locator("body[data-offline=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    expect(page.locator("[data-visit]")).to_have_count(12, timeout=LIST_WITHIN_MS)
    expect(page.get_by_text("may still be coming")).to_have_count(0, timeout=LIST_WITHIN_MS)


def test_phone_shows_todays_animals_and_hides_its_token(phone: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    expect(phone.get_by_text("Pepper")).to_be_visible()
    assert seed.PHONE_TOKEN not in phone.url
    expect(phone.locator("body[data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)


def test_phone_starts_again_with_the_server_stopped(phone: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    server.stop()
    phone.reload()
    wait_for_list(phone)
    expect(phone.locator("body[data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    expect(phone.get_by_text("Otto")).to_be_visible()


def test_a_list_that_was_read_before_stands_without_the_rules(phone: Page, server: Server, phone_link: str) -> None:
    """The rules need about as long as all the rest of a start; nothing of the list waits for them twice."""
    phone.goto(phone_link)
    wait_for_list(phone)
    wait_until(phone, lambda: "day" in store(phone, "draft"))
    shown = phone.locator("[data-visit]").all_inner_texts()
    server.stop()
    phone.add_init_script("globalThis.Worker = class { postMessage() {} terminate() {} };")
    phone.reload()
    wait_for_list(phone)
    expect(phone.locator("body[data-engine=starting]")).to_be_attached()
    expect(phone.locator("[data-as-planned]")).to_have_count(0)
    assert phone.locator("[data-visit]").all_inner_texts() == shown


def test_a_first_visit_downloads_little(phone: Page, server: Server, phone_link: str) -> None:
    """Everything that the first visit fetches, service worker included, without the WebAssembly runtime."""
    asked: list[str] = []
    phone.context.on("request", lambda request: asked.append(request.url.split("?")[0]))
    phone.goto(phone_link)
    wait_for_list(phone)
    fetched = set(asked)
    sizes = {url: len(gzip.compress(phone.request.get(url).body()))
             for url in fetched if "/api/" not in url and "/build/micropython." not in url}
    for needed in ("tables", "rules", "page"):
        assert any(f"/build/{needed}." in url for url in sizes), needed
    assert sum(sizes.values()) < LARGEST_FIRST_DOWNLOAD, sizes


def test_a_first_visit_takes_each_file_over_the_line_once(phone: Page, between: Between) -> None:
    """The page, the rules' worker and what is kept for use without network share what has come."""
    phone.goto(f"{between.address}/#phone={seed.PHONE_TOKEN}")
    wait_for_list(phone)
    expect(phone.locator("body[data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    came = [path.split("?")[0].removeprefix("/build/") for path in between.fetched if path.startswith("/build/")]
    for needed in ("page.", "tables.", "rules.", "engine-worker.", "micropython."):
        assert any(name.startswith(needed) for name in came), needed
    twice = {name for name, times in Counter(came).items() if times > 1}
    assert twice <= {"icon.svg", "icon-192.png", "manifest.webmanifest"}, "small, and under names that stay"
    assert came.index(next(filter(TABLES.match, came))) < came.index(next(filter(RULES.match, came)))


def test_a_first_list_on_its_way_is_not_called_empty(phone: Page, phone_link: str, watch: Watch) -> None:
    """The screen stands before list and rules are here; it says what is missing, and a walk-in need not wait."""
    held: list[Route] = []
    phone.route("**/api/journal?*", lambda route: held.append(route))
    phone.goto(phone_link)
    expect(phone.locator("[data-coming=true]")).to_contain_text("Getting today's list from the practice.")
    expect(phone.locator("[data-act=walk-in]")).to_be_enabled()
    wait_until(phone, lambda: bool(held))
    watch.expect("Failed to load resource")
    held.pop().abort("connectionrefused")
    expect(phone.locator("[data-coming=false]")).to_contain_text("No animals on the list yet.")
    phone.unroute("**/api/journal?*")
    wait_for_list(phone)


def test_desk_asks_for_a_sign_in_and_shows_the_queue(desk: Page, server: Server) -> None:
    desk.goto(f"{server.address}/review")
    expect(desk).to_have_url(f"{server.address}/sign-in?next=/review")
    person, password = seed.SIGN_IN
    desk.locator("[name=person]").fill(person)
    desk.locator("[name=password]").fill(password)
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(f"{server.address}/review")
    for name in ("Rufus", "Otto", "Tilly"):
        expect(desk.get_by_text(name).first).to_be_visible()


def test_every_answer_carries_the_policy(server: Server, desk: Page) -> None:
    for path, script in (("/", "'self' 'wasm-unsafe-eval'"), ("/sign-in", "'self'")):
        answer = desk.request.get(server.address + path)
        policy = dict(
            part.strip().split(" ", 1) for part in answer.headers["content-security-policy"].split(";") if part.strip()
        )
        assert policy["script-src"] == script
        assert policy["default-src"] == "'none'"
        for closed in ("object-src", "base-uri", "frame-ancestors"):
            assert policy[closed] == "'none'"
