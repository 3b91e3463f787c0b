"""The line between phone and server: gone all day, slow, silent, gone in the middle. What went stays sent."""

import random
import time

import pytest
from playwright.sync_api import Page, Route, expect

from e2e.between import Between
from e2e.hands import Hands, shot
from e2e.records import pending, phone_entries, server_entries, wait_sent, wait_until, write_many
from e2e.servers import Server
from e2e.test_network import PUSH, everything_arrived_once, record_a_little
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import CAUDAL, begin_walk_in
from e2e.watch import Watch

EXAM = "01999999-0000-7000-8000-0000000000e1"
PATIENT = "01999999-0000-7000-8000-0000000000a1"
# A time limit of the app, as it is asked for, runs out twenty times sooner; what was asked is written down.
HURRIED = """
const timeout = AbortSignal.timeout;
globalThis.limits = [];
AbortSignal.timeout = (ms) => { globalThis.limits.push(ms); return timeout.call(AbortSignal, ms / 20); };
"""


def begin_offline(hands: Hands, first: bool) -> None:
    """Who scans is asked for the first animal alone; before the second, whether the open exam is meant."""
    if first:
        begin_walk_in(hands, "dog", "8.4")
        return
    hands.act("walk-in")
    hands.act("go-on")
    hands.tap_words("dog")
    hands.keys("31")
    hands.act("begin")
    expect(hands.page.locator("body[data-screen=exam]")).to_be_attached()


@pytest.mark.catalogue(26)
def test_day_without_network_is_kept_and_one_push_clears_it(
    phone: Page, server: Server, between: Between, phone_link: str
) -> None:
    phone.goto(phone_link.replace(server.address, between.address))
    wait_for_list(phone)
    phone.context.set_offline(True)
    hands = Hands(phone)
    for first in (True, False):
        begin_offline(hands, first)
        hands.normal("liver", "spleen")
        hands.go("adrenal.left")
        hands.read(CAUDAL, "6.2", "6.4")
        hands.act("animal")
        expect(phone.locator(".strip .chip")).to_contain_text("not sent")
        hands.leave()
        phone.reload()
        expect(phone.locator("body[data-ready=yes]")).to_be_attached(timeout=LIST_WITHIN_MS)
        expect(phone.locator(".chip").first).to_contain_text("not sent")
        if phone.locator("body[data-screen=resume]").count():
            phone.get_by_role("button", name="other animal").tap()
        expect(phone.locator("body[data-screen=list]")).to_be_attached()
    expect(phone.locator(".chip").first).to_contain_text("10 not sent")
    assert between.pushes == 0

    phone.context.set_offline(False)
    wait_sent(phone)
    entries = phone_entries(phone)
    assert len(entries) == 10 and between.pushes == 1
    assert server_entries(server, entries[0]["device"]) == entries
    expect(phone.locator(".chip").first).to_contain_text("at the practice: 10 of 10")


@pytest.mark.catalogue(28)
def test_request_that_never_arrives_marks_nothing_and_is_made_again(
    phone: Page, server: Server, phone_link: str, watch: Watch
) -> None:
    watch.expect("net::ERR_CONNECTION_RESET")
    phone.goto(phone_link)
    wait_for_list(phone)
    phone.route(PUSH, lambda route: route.abort("connectionreset"))
    hands = Hands(phone)
    record_a_little(hands)
    expect(phone.locator("body[data-sync=offline]")).to_be_attached()
    assert pending(phone) == 4
    assert server_entries(server, phone_entries(phone)[0]["device"]) == []
    phone.unroute(PUSH)
    # Nobody taps: the phone's own back-off brings it.
    wait_sent(phone)
    everything_arrived_once(phone, server)


@pytest.mark.catalogue(32)
def test_silence_is_given_up_and_the_keys_stay_free_meanwhile(
    phone: Page, server: Server, between: Between, phone_link: str, watch: Watch
) -> None:
    phone.add_init_script(HURRIED)
    phone.goto(phone_link.replace(server.address, between.address))
    wait_for_list(phone)
    between.shut()
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    between.wait_for_push()
    hands.go("adrenal.left")
    begun = time.monotonic()
    hands.read(CAUDAL, "6.2")
    hands.wait_judged()
    assert time.monotonic() - begun < 5
    expect(phone.locator("body[data-sync=offline]")).to_be_attached()
    assert phone.evaluate("Math.min(...globalThis.limits)") == 20_000
    hands.read(CAUDAL, "6.4")
    between.open()
    wait_sent(phone)
    entries = phone_entries(phone)
    assert server_entries(server, entries[0]["device"]) == entries


@pytest.mark.catalogue(33)
def test_slow_line_that_drops_moves_batch_by_batch(
    phone: Page, server: Server, phone_link: str, watch: Watch
) -> None:
    """400 ms and 400 kbit/s, and every third push is cut. (50 kbit/s takes minutes: tests/js/faults plays it on a
    clock of its own, with batches that shrink until they pass.)"""
    watch.expect("net::ERR_CONNECTION_RESET")
    phone.goto(phone_link)
    wait_for_list(phone)
    line = phone.context.new_cdp_session(phone)
    line.send("Network.enable")
    line.send("Network.emulateNetworkConditions", {"offline": False, "latency": 400, "downloadThroughput": 50_000,
                                                   "uploadThroughput": 50_000})
    chance = random.Random(33)
    sent: list[bool] = []
    first: list[Route] = []

    def drop_some(route: Route) -> None:
        if '"entries":[{' not in (route.request.post_data or ""):
            route.continue_()
            return
        if not first:
            first.append(route)  # goes when it was looked at
            return
        cut = len(sent) == 1 or (len(sent) > 2 and chance.random() < 0.3)
        sent.append(not cut)
        if cut:
            route.abort("connectionreset")
        else:
            route.continue_()

    phone.route(PUSH, drop_some)
    entries = write_many(phone, 420, PATIENT, EXAM, "n" * 20)
    Hands(phone).act("settings")
    phone.locator('[data-act="send-now"]').tap()
    expect(phone.locator(".chip").first).to_contain_text("sending 1 of 3: 420 not sent")
    shot(phone, "sending")
    sent.append(True)
    wait_until(phone, lambda: bool(first))  # the chip says so a moment before the request comes by here
    first[0].continue_()
    left = [420]
    while left[-1]:
        wait_until(phone, lambda: pending(phone) < left[-1])
        left.append(pending(phone))
    assert len(left) >= 3, left
    assert False in sent
    assert server_entries(server, entries[0]["device"]) == entries


@pytest.mark.catalogue(34)
def test_network_that_goes_in_the_middle_of_a_batch_loses_nothing(
    phone: Page, server: Server, between: Between, phone_link: str, watch: Watch
) -> None:
    watch.expect("net::ERR_NETWORK_CHANGED", "net::ERR_EMPTY_RESPONSE")
    phone.goto(phone_link.replace(server.address, between.address))
    wait_for_list(phone)
    between.shut()
    between.fate = lambda number: "cut after"
    entries = write_many(phone, 210, PATIENT, EXAM)
    phone.reload()
    between.wait_for_push()
    phone.context.set_offline(True)
    between.open()
    expect(phone.locator("body[data-sync=offline]")).to_be_attached()
    # The batch has arrived, and nobody told the phone.
    wait_until(phone, lambda: len(server_entries(server, entries[0]["device"])) >= 200)
    assert pending(phone) == 210
    between.fate = lambda number: "pass"
    phone.context.set_offline(False)
    wait_sent(phone)
    assert server_entries(server, entries[0]["device"]) == entries
