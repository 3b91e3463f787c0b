"""From README alone to a paired phone over https on this machine, and what an ended certificate does to it."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from playwright.sync_api import Browser, FilePayload, Page, Playwright, expect

from e2e.conftest import DESK, PHONE
from e2e.hands import Hands
from e2e.locks import choose_pin, compare, start_pairing
from e2e.records import store, wait_until
from e2e.secure import PASSWORD, SecurePractice
from e2e.test_start import LIST_WITHIN_MS
from e2e.watch import Watch
from webapp import tls
from webapp.pairing import codes
from webapp.pairing.routes import qr

CAUDAL = "adrenal.left.caudal_pole_thickness"


@pytest.fixture(scope="module")
def practice(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SecurePractice]:
    """Set up once, as a practice is; the second test leaves it with a good certificate again."""
    made = SecurePractice(tmp_path_factory.mktemp("practice"))
    made.set_up()
    made.start()
    yield made
    made.close()


@pytest.fixture(scope="module")
def trusting(playwright: Playwright, browser_options: dict[str, Any], practice: SecurePractice) -> Iterator[Browser]:
    running = playwright.chromium.launch(**practice.trusting(browser_options))
    yield running
    running.close()


def page_of(browser: Browser, watch: Watch, options: dict[str, Any]) -> Page:
    context = browser.new_context(**options)
    watch.over(context)
    return context.new_page()


def signed_in(browser: Browser, watch: Watch, practice: SecurePractice) -> Page:
    desk = page_of(browser, watch, DESK)
    desk.goto(f"{practice.address}/phones")
    desk.locator("[name=person]").fill("RD")
    desk.locator("[name=password]").fill(PASSWORD)
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(f"{practice.address}/phones")
    return desk


def connected(phone: Page) -> None:
    """The desk's word came: the practice asks for a PIN, and the phone is open for use without network."""
    expect(phone.locator("body[data-screen=pin]")).to_be_attached()
    choose_pin(Hands(phone))
    expect(phone.locator("body[data-offline=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)


def record(hands: Hands, value: str, initials: str | None = None) -> None:
    hands.act("walk-in")
    hands.tap_words("dog")
    if initials:
        hands.page.locator("#initials").fill(initials)
        hands.page.locator("#initials").blur()
    hands.keys("8.4")
    hands.act("begin")
    expect(hands.page.locator("body[data-screen=exam]")).to_be_attached(timeout=LIST_WITHIN_MS)
    hands.go("adrenal.left")
    hands.read(CAUDAL, value)
    hands.leave()


def all_sent(phone: Page) -> None:
    expect(phone.locator('body[data-pending="0"]')).to_be_attached(timeout=30_000)


def test_readme_alone_leads_from_the_commands_to_a_reading_at_the_desk(
    trusting: Browser, practice: SecurePractice, watch: Watch
) -> None:
    desk = signed_in(trusting, watch, practice)
    phone = page_of(trusting, watch, PHONE)
    phone.goto(practice.address)
    code = start_pairing(desk, practice.address)
    hands = Hands(phone)
    hands.act("pair-start")
    phone.locator("#pair-code").fill(code.lower().replace("-", " "))
    phone.locator("#pair-name").fill("Blue phone")
    hands.act("pair")
    compare(desk, phone)
    connected(phone)
    expect(desk.get_by_text("Blue phone is paired.")).to_be_visible()
    record(hands, "6.2", initials="VS")
    all_sent(phone)
    assert all("sealed" in row for row in store(phone, "entries").values())

    desk.goto(f"{practice.address}/review")
    desk.locator("[data-row]").first.click()
    expect(desk.locator("main")).to_contain_text("6.2")
    desk.goto(f"{practice.address}/phones")
    row = desk.locator("table.phones tbody tr")
    expect(row).to_contain_text("Blue phone")
    for words in ("may send and read", "nothing", "rules: as here"):
        expect(row).to_contain_text(words)

    second = page_of(trusting, watch, PHONE)
    second.goto(link_of_the_picture(desk, practice))
    expect(second.get_by_text("The code of the desk was read.")).to_be_visible()
    assert "#" not in second.url, "the secret does not stay in the address"
    Hands(second).act("pair")
    compare(desk, second)
    connected(second)


def link_of_the_picture(desk: Page, practice: SecurePractice) -> str:
    """A new pairing at the desk: the link that its QR code holds, proved by drawing that link's code again."""
    start_pairing(desk, practice.address)
    key = (practice.instance / "secret_key").read_text()
    link = f"{practice.address}/#pair={codes.secret(key, desk.url.rsplit('/', 1)[1])}"
    path = desk.locator("svg.qr path").last.get_attribute("d")
    assert path and path in str(qr(link))
    return link


def take_picture(phone: Page, picture: bytes) -> None:
    """What the phone's camera gives back to the app."""
    file = FilePayload(name="picture.png", mimeType="image/png", buffer=picture)
    phone.locator('[data-act="scan"] input').set_input_files(files=[file])


def askew(desk: Page) -> bytes:
    """The desk's screen as a hand holds a phone before it."""
    desk.locator(".qr").evaluate("(drawn) => { drawn.style.transform = 'rotate(9deg) skewX(4deg)'; }")
    return desk.screenshot()


def test_an_ended_certificate_stops_sending_never_writing(
    trusting: Browser, practice: SecurePractice, watch: Watch
) -> None:
    watch.expect("net::ERR_CERT", "An SSL certificate error occurred")
    desk = signed_in(trusting, watch, practice)
    phone = page_of(trusting, watch, PHONE)
    start_pairing(desk, practice.address)
    phone.goto(practice.address)
    hands = Hands(phone)
    hands.act("pair-start")
    take_picture(phone, desk.locator("h1").screenshot())
    expect(phone.get_by_role("alert")).to_contain_text("No code was found in the picture")
    take_picture(phone, askew(desk))
    expect(phone.locator("[data-read]")).to_be_visible()
    hands.act("pair")
    compare(desk, phone)
    expect(phone.locator("body[data-screen=pin]")).to_be_attached()
    hands.act("pin-later")
    expect(phone.locator("body[data-offline=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)

    practice.stop()
    folder = practice.instance / "tls"
    (folder / tls.SERVER).unlink()
    tls.make(folder, ["localhost"], "", datetime.now(UTC) - timedelta(days=tls.SERVER_DAYS + 3))
    assert tls.days_left(folder / tls.SERVER) < 0
    practice.start()
    phone.reload()
    expect(phone.locator("body[data-ready=yes][data-screen=list]")).to_be_attached(timeout=LIST_WITHIN_MS)
    record(hands, "6.2", initials="VS")
    expect(phone.locator("body[data-sync=offline]")).to_be_attached()
    wait_until(phone, lambda: phone.locator("body").get_attribute("data-pending") == "2")

    practice.stop()
    practice.run(f".venv/bin/flask --app webapp tls localhost --port {practice.port}")
    assert tls.days_left(folder / tls.SERVER) > 300
    practice.start()
    hands.send_now()
    all_sent(phone)
