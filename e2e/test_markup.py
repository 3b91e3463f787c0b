"""Markup sent by a phone and typed at the desk is text in a real browser: nothing runs, nothing is reported."""

import json
import urllib.request

import pytest
from playwright.sync_api import Page, expect

from demo import seed
from e2e.desk import Keyboard
from e2e.servers import Server
from tests.attacks.markup import EVERYTHING, MARKS
from tests.builders import EXAM, Phone, push

pytestmark = [pytest.mark.catalogue(69), pytest.mark.catalogue(25)]


@pytest.fixture
def sent(server: Server) -> None:
    """An exam whose texts are markup, as a phone would send it."""
    phone = Phone()
    phone.opened(name=EVERYTHING, breed=EVERYTHING)
    phone.act("set", {"about": "question.text", "value": EVERYTHING})
    phone.seen("adrenal.right.cranial_pole", "not_seen", [EVERYTHING])
    phone.act("noted", {"about": "spleen", "text": EVERYTHING})
    phone.closed()
    headers = {"Authorization": f"Bearer {seed.PHONE_TOKEN}", "Content-Type": "application/json"}
    request = urllib.request.Request(f"{server.address}/api/journal", push(phone).encode(), headers)
    with urllib.request.urlopen(request) as answer:
        assert {row["status"] for row in json.load(answer)["results"]} == {"stored"}


def test_the_desk_shows_markup_as_text_and_runs_none_of_it(server: Server, desk: Page, sent: None) -> None:
    """The watched page fails on any console error, dialog or report of the content security policy."""
    Keyboard(desk).sign_in(server)
    for where in (f"/review/exam/{EXAM}", "/review", f"/audit?about={EXAM}"):
        desk.goto(server.address + where)
        expect(desk.locator("h1")).to_be_visible()
        assert desk.evaluate("() => window.hit") is None
        assert desk.locator("img, iframe, main style, main script, main svg").count() == 0
    desk.goto(f"{server.address}/review/exam/{EXAM}")
    for mark in MARKS:
        assert mark in desk.locator("body").inner_text()
    desk.locator("#impression").fill(EVERYTHING)
    desk.locator("#save").click()
    expect(desk.locator("[role=status]")).to_contain_text("Saved")
    expect(desk.locator("#impression")).to_have_value(EVERYTHING)
    assert desk.evaluate("() => window.hit") is None
