"""What may befall a phone at the table, in a real browser: deaths, emptied caches, clocks, undo, other windows."""

import pytest
from playwright.sync_api import Page, expect

from e2e.conftest import PHONE, KillableBrowser, NewPage
from e2e.hands import Hands, shot
from e2e.records import phone_entries, readings, store, wait_sent, wait_until, wait_written, write_many
from e2e.servers import Server
from e2e.test_line import EXAM, PATIENT
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.test_walk_in import begin_walk_in
from e2e.watch import Watch

CAUDAL = "adrenal.left.caudal_pole_thickness"
CRANIAL = "adrenal.left.cranial_pole_thickness"


def at_the_gland(page: Page, link: str) -> Hands:
    page.goto(link)
    wait_for_list(page)
    expect(page.locator("body[data-offline=ready]")).to_be_attached()
    hands = Hands(page)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    return hands


@pytest.mark.catalogue(1)
@pytest.mark.catalogue(2)
def test_killed_right_after_saved_and_in_the_middle_of_a_number(
    killable: KillableBrowser, server: Server, phone_link: str
) -> None:
    page = killable.start(**PHONE)
    hands = at_the_gland(page, phone_link)
    server.stop()
    for number, value in enumerate(("6.2", "6.4", "6.3")):
        before = hands.saved()
        page.keyboard.type(value)
        expect(page.locator(f'body[data-saved="{before + 1}"]')).to_be_attached()
        killable.kill()  # at once: "saved" was the last thing it said
        page = killable.start(**PHONE)
        page.goto(server.address)
        hands = Hands(page)
        hands.act("go-on")
        expect(page.locator("body[data-screen=exam]")).to_be_attached()  # keys before that would be typed into nothing
        assert len(readings(phone_entries(page), CAUDAL)) + len(readings(phone_entries(page), CRANIAL)) == number + 1
    page.keyboard.type("51")
    expect(page.locator(".row.current .box.active")).to_have_text("51")
    wait_written(page, "'51'")
    killable.kill()
    page = killable.start(**PHONE)
    page.goto(server.address)
    hands = Hands(page)
    expect(page.locator("main, #app")).to_contain_text('"51" typed')
    hands.act("go-on")
    assert hands.typed() == "51"


@pytest.mark.catalogue(4)
@pytest.mark.catalogue(15)
@pytest.mark.catalogue(16)
@pytest.mark.catalogue(17)
def test_a_window_that_crashes_or_hears_nothing_keeps_nobody_from_writing(
    phone: Page, server: Server, phone_link: str, watch: Watch
) -> None:
    hands = at_the_gland(phone, phone_link)
    second = Hands(phone.context.new_page())
    second.page.goto(server.address)
    second.act("go-on")
    second.read(CAUDAL, "6.2")
    hands.wait_saved(2)

    # Word between windows is lost: what the other one wrote is there at the next look.
    second.page.evaluate("BroadcastChannel.prototype.postMessage = () => undefined")
    second.read(CAUDAL, "6.4")
    assert hands.boxes(CAUDAL) == ["6.2"]
    phone.evaluate("dispatchEvent(new Event('focus'))")
    hands.wait_saved(3)
    second.read(CRANIAL, "5.0")
    phone.evaluate("dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true }))")
    hands.wait_saved(4)

    watch.expect("crash")
    crashing = second.page
    crashing.on("crash", lambda _page: None)
    with pytest.raises(Exception, match="(?i)crash|ERR_ABORTED|closed"):
        crashing.goto("chrome://crash", timeout=5000)
    hands.read(CRANIAL, "5.1")
    wait_sent(phone)
    assert len(phone_entries(phone)) == 5


@pytest.mark.catalogue(12)
@pytest.mark.catalogue(13)
@pytest.mark.catalogue(14)
def test_an_emptied_cache_costs_no_record_and_what_is_not_promised_is_said(
    phone: Page, new_page: NewPage, server: Server, phone_link: str
) -> None:
    hands = at_the_gland(phone, phone_link)
    hands.read(CAUDAL, "6.2")
    hands.leave()
    wait_sent(phone)
    entries = phone_entries(phone)
    browser = phone.context.new_cdp_session(phone)
    emptied = {"origin": server.address, "storageTypes": "cache_storage,service_workers"}
    browser.send("Storage.clearDataForOrigin", emptied)
    phone.goto(server.address)
    expect(phone.locator("[data-visit]")).to_have_count(13, timeout=LIST_WITHIN_MS)
    assert phone_entries(phone) == entries

    hands.act("settings")
    told = phone.locator("[data-promised=false]")
    expect(told).to_contain_text("does NOT promise to keep")
    expect(told).to_contain_text("a window of the browser")
    shot(phone, "promised")
    other = new_page(**PHONE)
    other.goto(phone_link)
    wait_for_list(other)
    begin_walk_in(Hands(other), "cat", "4.1")
    wait_until(other, lambda: bool(store(other, "meta").get("device")))
    assert store(other, "meta")["device"]["device"] != store(phone, "meta")["device"]["device"]


@pytest.mark.catalogue(20)
def test_undo_is_an_entry_after_going_on_twice_and_after_sending(
    phone: Page, server: Server, phone_link: str
) -> None:
    hands = at_the_gland(phone, phone_link)
    hands.read(CAUDAL, "6.2")
    hands.act("next")
    hands.act("undo")
    hands.wait_saved(3)
    expect(phone.locator('[data-act="undo"]')).to_have_count(0)
    hands.go("adrenal.left")
    hands.read(CAUDAL, "6.4")
    wait_sent(phone)
    hands.act("undo")
    hands.wait_saved(5)
    entries = phone_entries(phone)
    assert [entry["kind"] for entry in entries] == ["opened", "read", "struck", "read", "struck"]
    assert [entry["of"] for entry in entries if entry["kind"] == "struck"] == [[entries[1]["id"]], [entries[3]["id"]]]
    assert readings(entries, CAUDAL) == [("6.2", "6.2"), ("6.4", "6.4")], "both stay readable"


@pytest.mark.catalogue(73)
@pytest.mark.parametrize("height", [844, 420, 300])
def test_the_field_in_hand_stays_in_sight_over_a_keyboard_turned_and_with_large_text(
    phone: Page, server: Server, phone_link: str, height: int
) -> None:
    hands = at_the_gland(phone, phone_link)
    hands.act("more")
    hands.tap_words("write a note")
    field = phone.locator("#note-text")
    field.focus()
    width = 390 if height > 350 else 844  # turned, and a keyboard over half of it
    phone.set_viewport_size({"width": width, "height": height})
    phone.evaluate("document.documentElement.style.fontSize = '200%'")
    field.scroll_into_view_if_needed()
    expect(field).to_be_focused()
    box = field.bounding_box()
    assert box is not None
    assert box["y"] >= 0 and box["y"] < height, (box, height)
    seen = phone.evaluate(
        "([x, y]) => document.elementFromPoint(x, y)?.id", [box["x"] + 20, min(box["y"] + 20, height - 4)]
    )
    assert seen == "note-text", "nothing lies over it"
    field.fill("Capsule smooth.")
    shot(phone, f"field-{width}x{height}")


@pytest.mark.catalogue(10)
def test_without_storage_no_exam_starts_and_why_is_said(new_page: NewPage, server: Server) -> None:
    page = new_page(**PHONE)
    page.add_init_script("Object.defineProperty(globalThis, 'indexedDB', { value: undefined })")
    page.goto(server.address)
    expect(page.get_by_role("alert")).to_contain_text("no storage here")
    expect(page.locator("body[data-screen=stopped]")).to_be_attached()
    assert page.locator('[data-act="walk-in"]').count() == 0


@pytest.mark.catalogue(23)
def test_five_thousand_entries_start_and_type_as_before(phone: Page, server: Server, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    server.stop()
    assert len(write_many(phone, 5000, PATIENT, EXAM)) == 5000
    phone.reload()
    expect(phone.locator('body[data-pending="5000"]')).to_be_attached(timeout=LIST_WITHIN_MS)
    hands = Hands(phone)
    hands.tap(phone.locator("[data-visit]", has_text="Many"))
    expect(phone.locator("body[data-screen=exam], body[data-screen=settings]")).to_be_attached()
    if phone.locator("body[data-screen=settings]").count():
        hands.tap_words("V. Sorrel")
        hands.act("back")
        hands.tap(phone.locator("[data-visit]", has_text="Many"))
    expect(phone.locator("body[data-screen=exam]")).to_be_attached(timeout=LIST_WITHIN_MS)
    hands.go("adrenal.left")
    hands.read(CAUDAL, "6.2")
    hands.wait_judged()
    expect(phone.locator('body[data-pending="5001"]')).to_be_attached()


@pytest.mark.catalogue(20)
def test_an_undo_does_not_take_back_a_hand_that_went_on(phone: Page, phone_link: str) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read(CAUDAL, "6.2")
    hands.go("adrenal.right")
    phone.evaluate("for (const act of ['undo', 'next']) document.querySelector(`[data-act=${act}]`).click()")
    hands.wait_saved(3)
    hands.wait_judged()
    assert hands.structure() not in ("adrenal.left", "adrenal.right")
    assert [entry["kind"] for entry in phone_entries(phone)] == ["opened", "read", "struck"]
