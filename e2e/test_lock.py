"""The PIN and the desk's word on a real phone: sealed at rest, never in the way of a started exam, nothing lost."""

import pytest
from playwright.sync_api import Page, expect

from demo import seed
from e2e.conftest import PHONE, KillableBrowser
from e2e.hands import Hands
from e2e.locks import PIN, hide, lock_now, revoke, set_pin, try_pin, unlock
from e2e.records import pending, phone_rows, server_entries, store, wait_until
from e2e.servers import Server
from e2e.test_second_copy import COPY, copied
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import begin_walk_in
from e2e.watch import Watch

CAUDAL = "adrenal.left.caudal_pole_thickness"
API = "**/api/**"


def begin(phone: Page, phone_link: str) -> Hands:
    """A phone of the practice with a PIN."""
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    set_pin(hands)
    wait_for_list(phone)
    return hands


def read_a_little(hands: Hands, *values: str) -> None:
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read(CAUDAL, *values)


def to_the_list(hands: Hands) -> None:
    hands.leave()


def sign_in(desk: Page, server: Server) -> None:
    desk.goto(f"{server.address}/phones")
    for field, text in zip(("person", "password"), seed.SIGN_IN, strict=True):
        desk.locator(f"[name={field}]").fill(text)
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(f"{server.address}/phones")


def all_sealed(page: Page) -> bool:
    rows = store(page, "entries").values()
    return all("sealed" in row and "body" not in row and "header" not in row for row in rows)


def arrived(page: Page, server: Server) -> bool:
    """The practice holds this phone's own entries, each once."""
    rows = phone_rows(page)
    return [row["id"] for row in rows] == [entry["id"] for entry in server_entries(server, rows[0]["device"])]


def press_and_wait(hands: Hands, key: str) -> None:
    """A key, and the place with its digit is on the disk, sealed."""
    before = store(hands.page, "draft")["position"]
    hands.keys(key)
    wait_until(hands.page, lambda: store(hands.page, "draft")["position"] != before)
    assert "sealed" in store(hands.page, "draft")["position"]


@pytest.mark.catalogue(63)
def test_ten_wrong_pins_block_the_phone_and_the_practice_gets_all_that_lay_sealed(
    phone: Page, server: Server, phone_link: str, watch: Watch
) -> None:
    watch.expect("net::ERR_FAILED")
    hands = begin(phone, phone_link)
    phone.route("**/api/journal**", lambda route: route.abort())
    read_a_little(hands, "6.2", "6.4")
    to_the_list(hands)
    lock_now(hands)
    for tries in range(10):
        try_pin(hands, "1357")
        assert phone.locator("[data-lock]").get_attribute("data-lock") == ("blocked" if tries == 9 else "locked")
    phone.reload()
    expect(phone.locator('[data-lock="blocked"]')).to_be_attached()
    expect(phone.get_by_text("3 entries that are not sent")).to_be_visible()

    phone.route(API, lambda route: route.abort())
    hands.act("forgotten")
    hands.act("forgotten")
    expect(phone.get_by_role("alert")).to_contain_text("out of reach")
    assert all_sealed(phone) and pending(phone) == 3 and "lock" in store(phone, "meta")

    phone.unroute_all()
    hands.act("forgotten")
    hands.act("forgotten")
    expect(phone.get_by_text("All entries are at the practice. Pair this phone again.")).to_be_visible()
    assert arrived(phone, server)
    assert not {"lock", "token"} & store(phone, "meta").keys()


@pytest.mark.catalogue(64)
@pytest.mark.catalogue(65)
def test_a_phone_revoked_offline_goes_on_and_locks_then_hands_over_all_before_it_clears_itself(
    phone: Page, desk: Page, server: Server, phone_link: str, watch: Watch
) -> None:
    watch.expect("net::ERR_CONNECTION_RESET", "status of 403")
    sign_in(desk, server)
    phone.clock.install()
    hands = begin(phone, phone_link)
    phone.context.set_offline(True)
    revoke(desk, server.address)
    hide(phone, 4)
    expect(phone.locator("body[data-screen=list]")).to_be_attached()
    hide(phone, 5)
    expect(phone.locator("body[data-screen=locked]")).to_be_attached()
    unlock(hands)
    read_a_little(hands, "6.2")
    device = phone_rows(phone)[0]["device"]

    phone.route("**/api/journal", lambda route: (route.fetch(), route.abort("connectionreset")))
    phone.context.set_offline(False)
    wait_until(phone, lambda: len(server_entries(server, device)) == 2)
    assert pending(phone) == 2, "no receipt came: the phone keeps them"
    phone.unroute_all()
    hide(phone, 1)
    wait_until(phone, lambda: pending(phone) == 0)
    expect(phone.locator("body[data-screen=exam]")).to_be_attached()
    hands.read(CAUDAL, "6.4")  # the exam in hand goes on
    to_the_list(hands)
    hide(phone, 1)
    # A round that was under way when the exam was left is followed by the one that clears.
    expect(phone.locator("[data-cleared]")).to_contain_text("Its 3 entries are at", timeout=LIST_WITHIN_MS)
    assert len(server_entries(server, device)) == 3
    assert store(phone, "entries") == {}
    assert copied(phone) == [] and "sealed" not in str(phone.evaluate(COPY)), "nor does the second copy hold anything"
    wait_until(phone, lambda: '"lock":null' in str(phone.evaluate(COPY)))  # of the new name that it begins with
    assert not {"token", "lock", "receipt"} & store(phone, "meta").keys()
    desk.reload()
    expect(desk.locator("table.phones")).to_contain_text("3 entries sent since.")


def test_a_killed_phone_opens_its_exam_without_the_pin_and_asks_when_that_is_left(
    killable: KillableBrowser, server: Server, phone_link: str
) -> None:
    phone = killable.start(**PHONE)
    hands = begin(phone, phone_link)
    read_a_little(hands, "6.2")
    hands.wait_judged()
    for key in "6.":
        press_and_wait(hands, key)
    killable.kill()

    phone = killable.start(**PHONE)
    hands = Hands(phone)
    phone.clock.install()
    phone.goto(server.address)
    expect(phone.locator("body[data-screen=resume]")).to_be_attached()
    expect(phone.get_by_text('"6." typed')).to_be_visible()
    hands.act("go-on")
    expect(phone.locator("body[data-screen=exam]")).to_be_attached()  # a pocket before that is asked at the first touch
    hide(phone, 30)
    phone.clock.fast_forward(2000)  # a tap that was on its way to the exam does not answer the question
    hands.act("go-on")  # whether this is still the same animal; for no PIN
    hands.keys("4")
    hands.act("keep")
    hands.wait_saved(3)
    to_the_list(hands)
    expect(phone.locator("body[data-screen=locked]")).to_be_attached()
    unlock(hands)
    expect(phone.locator("body[data-screen=list]")).to_be_attached()
    assert all_sealed(phone)


def test_a_pin_set_in_one_window_holds_in_the_other(phone: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    other = phone.context.new_page()
    other.goto(server.address)
    wait_for_list(other)
    phone.bring_to_front()
    set_pin(Hands(phone))
    other.bring_to_front()
    read_a_little(Hands(other), "6.2")
    assert all_sealed(other)
    lock_now(Hands(phone))
    expect(other.locator("body[data-screen=exam]")).to_be_attached()  # an exam in hand is not interrupted
    to_the_list(Hands(other))
    expect(other.locator("body[data-screen=locked]")).to_be_attached()
    unlock(Hands(other), PIN)


@pytest.mark.catalogue(11)
def test_an_emptied_storage_is_noticed_by_phone_and_practice(
    phone: Page, desk: Page, server: Server, phone_link: str
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    hands.send_now()
    phone.context.set_offline(True)
    read_a_little(hands, "6.2")
    session = phone.context.new_cdp_session(phone)
    session.send("Storage.clearDataForOrigin", {"origin": server.address, "storageTypes": "all"})
    phone.context.set_offline(False)
    phone.goto(server.address)
    expect(phone.locator('[data-act="pair-start"]')).to_be_visible()
    phone.goto(phone_link)
    wait_for_list(phone)
    Hands(phone).send_now()
    sign_in(desk, server)
    expect(desk.locator("table.phones")).to_contain_text("Its storage was cleared by")
