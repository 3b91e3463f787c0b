"""An entry that nobody here can read: kept, told on the phone and at the desk, never in the way of the others."""

import json

import pytest
from playwright.sync_api import Page, expect

from demo import seed
from e2e.desk import Keyboard
from e2e.hands import Hands
from e2e.records import phone_entries, wait_sent
from e2e.servers import Server
from e2e.test_start import wait_for_list
from webapp.store.entries import NO_PREVIOUS, Act, Envelope, Place, canonical, entry_id, make

DEVICE = "d" * 32


def three_notes(exam: str, patient: str) -> list[Envelope]:
    """Of another phone, about an exam that is there; the one in the middle is of a version that does not exist yet."""
    place = Place(DEVICE, 1, NO_PREVIOUS)
    made: list[Envelope] = []
    for words in ("before it", "of the future", "behind it"):
        act = Act("noted", {"about": "exam", "text": words}, "VS", "2026-11-24T10:00:00+00:00", exam, patient)
        one = make(act, place)
        if words == "of the future":
            one = {"header": canonical(json.loads(one["header"]) | {"v": 999}), "body": one["body"]}
        made.append(one)
        place = Place(DEVICE, place.seq + 1, entry_id(one))
    return made


@pytest.mark.catalogue(38)
def test_unreadable_entry_is_told_on_both_screens_and_those_behind_it_arrive(
    phone: Page, desk: Page, server: Server, phone_link: str
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    expect(phone.locator("body[data-sync=idle]")).to_be_attached()  # the list of people is here, too
    hands.begin_visit("Otto")
    hands.normal("liver")
    wait_sent(phone)
    first = phone_entries(phone)[0]
    answer = phone.request.post(
        f"{server.address}/api/journal", headers={"Authorization": f"Bearer {seed.PHONE_TOKEN}"},
        data={"protocol": 1, "device": DEVICE, "entries": three_notes(first["exam"], first["patient"])}).json()
    assert [one["status"] for one in answer["results"]] == ["stored", "stored_unreadable", "stored"]
    assert (answer["held"], answer["through"]) == (3, 3)

    hands.leave()
    hands.send_now()
    hands.tap(phone.locator("[data-visit]", has=phone.locator("b", has_text="Otto")).first)
    hands.act("animal")
    expect(phone.locator('[data-unread="1"]')).to_contain_text("1 entry is kept but not understood")
    expect(phone.get_by_text("note: behind it")).to_be_visible()

    Keyboard(desk).sign_in(server)
    desk.goto(f"{server.address}/review/exam/{first['exam']}")
    expect(desk.locator("main")).to_contain_text("(format 999)")
    expect(desk.locator("main")).to_contain_text("behind it")
