"""The network at its worst: lost answers, other people's pages, redirects. Nothing is believed that is no receipt."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, Route, expect

from e2e.hands import Hands
from e2e.records import pending, phone_entries, server_entries, wait_sent, wait_until
from e2e.servers import Server
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in
from e2e.watch import Watch

PUSH = "**/api/journal"
READINGS = ("6.2", "6.4")


def record_a_little(hands: Hands) -> None:
    """A walk-in with two readings and a note: four entries."""
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read("adrenal.left.caudal_pole_thickness", *READINGS)
    hands.note("Thick; look again tomorrow.")


def everything_arrived_once(page: Page, server: Server) -> None:
    """The practice holds the phone's entries, each once, byte for byte, and the receipt says so."""
    entries = phone_entries(page)
    assert len(entries) == 4
    assert server_entries(server, entries[0]["device"]) == entries
    expect(page.locator(f'body[data-held="{len(entries)}"][data-own="{len(entries)}"]')).to_be_attached()


@pytest.mark.catalogue(27)
def test_lost_answer_marks_nothing_and_the_second_push_adds_nothing(
    phone: Page, server: Server, phone_link: str, watch: Watch
) -> None:
    watch.expect("net::ERR_CONNECTION_RESET")
    phone.goto(phone_link)
    wait_for_list(phone)
    lost: list[int] = []

    def lose_the_answer(route: Route) -> None:
        if route.request.method == "POST":
            lost.append(route.fetch().status)
        route.abort("connectionreset")

    phone.route(PUSH, lose_the_answer)
    hands = Hands(phone)
    record_a_little(hands)
    entries = phone_entries(phone)
    wait_until(phone, lambda: len(server_entries(server, entries[0]["device"])) > 0)
    expect(phone.locator("body[data-sync=offline]")).to_be_attached()
    assert lost and set(lost) == {200}
    assert pending(phone) == len(entries) == 4

    phone.unroute(PUSH)
    hands.leave()
    hands.send_now()
    wait_sent(phone)
    everything_arrived_once(phone, server)


def sign_in_page(route: Route) -> None:
    """What a hotel's Wi-Fi answers to everything."""
    route.fulfill(status=200, content_type="text/html", body="<!doctype html><title>Wi-Fi</title><form>Accept</form>")


def redirected(route: Route) -> None:
    route.fulfill(status=302, headers={"Location": "/sign-in"}, body="")


def redirected_keeping_the_method(route: Route) -> None:
    route.fulfill(status=307, headers={"Location": "/api/ping"}, body="")


def somebody_elses_json(route: Route) -> None:
    route.fulfill(status=200, content_type="application/json", body='{"protocol":1,"ok":true,"results":[]}')


def receipt_of_another_device(route: Route) -> None:
    """A receipt in form, for a phone that is not this one."""
    ids = "0" * 64
    route.fulfill(status=200, content_type="application/json", body=(
        '{"protocol":1,"store_id":"x","device":"' + "f" * 32 + '","through":9,"held":9,'
        '"results":[{"id":"' + ids + '","status":"stored"}]}'))


def truncated_receipt(route: Route) -> None:
    """The practice's own answer, cut off: the entries did arrive."""
    answer = route.fetch()
    route.fulfill(status=200, content_type="application/json", body=answer.text()[:-20])


def empty_answer(route: Route) -> None:
    route.fulfill(status=204, body="")


def server_in_trouble(route: Route) -> None:
    route.fulfill(status=503, content_type="application/json", body='{"error":{"code":"locked","message":"busy"}}')


NO_RECEIPTS = (sign_in_page, redirected, redirected_keeping_the_method, somebody_elses_json,
               receipt_of_another_device, empty_answer, server_in_trouble, truncated_receipt)
# The browser itself prints an error status and a blocked redirect; the app has no say in that.
PRINTED_BY_THE_BROWSER = ("status of 503", "net::ERR_FAILED")


@pytest.mark.catalogue(30)
def test_answer_that_is_no_receipt_marks_nothing_as_sent(
    phone: Page, server: Server, phone_link: str, watch: Watch
) -> None:
    """One wrong answer after the other; in the end the practice itself answers, and everything arrives once."""
    watch.expect(*PRINTED_BY_THE_BROWSER)
    phone.goto(phone_link)
    wait_for_list(phone)
    stranger = Stranger(sign_in_page)
    phone.route(PUSH, stranger)
    hands = Hands(phone)
    record_a_little(hands)
    hands.leave()
    for answer in NO_RECEIPTS:
        push_into(phone, hands, stranger, answer)
        assert pending(phone) == len(phone_entries(phone)) == 4, answer.__name__
        expect(phone.locator(".chip").first).to_contain_text("4 not sent")
        arrived = server_entries(server, phone_entries(phone)[0]["device"])
        assert len(arrived) == (4 if answer is truncated_receipt else 0), answer.__name__

    phone.unroute(PUSH)
    hands.send_now()
    wait_sent(phone)
    everything_arrived_once(phone, server)


class Stranger:
    """Answers every push in the practice's place, without a gap when the answer changes: the phone pushes by itself."""

    def __init__(self, answer: Callable[[Route], None]) -> None:
        self.answer = answer
        self.pushed = 0

    def __call__(self, route: Route) -> None:
        self.pushed += route.request.method == "POST"
        self.answer(route)


def push_into(page: Page, hands: Hands, stranger: Stranger, answer: Callable[[Route], None]) -> None:
    """Ask for a push that is answered like this, and wait until the phone has made up its mind."""
    stranger.answer, stranger.pushed = answer, 0
    hands.act("settings")
    page.locator('[data-act="send-now"]').tap()
    wait_until(page, lambda: stranger.pushed > 0)
    expect(page.locator("body[data-sync=offline], body[data-sync=waiting]")).to_be_attached()
    hands.act("back")


@pytest.mark.catalogue(30)
def test_list_stays_when_a_foreign_page_answers_for_it(phone: Page, server: Server, phone_link: str) -> None:
    """The list of the day came once; a captive portal afterwards neither empties it nor breaks the start."""
    phone.goto(phone_link)
    wait_for_list(phone)
    phone.route("**/api/**", sign_in_page)
    phone.reload()
    wait_for_list(phone)
    Hands(phone).act("settings")
    phone.locator('[data-act="send-now"]').tap()
    expect(phone.get_by_text("a Wi-Fi sign-in page?")).to_be_visible()
    phone.locator('[data-act="back"]').tap()
    wait_for_list(phone)
