"""Pictures and clips: taken without network, kept through a crash, sent after the text, seen at the desk."""

import hashlib
import struct
from typing import Any

import pytest
from playwright.sync_api import FilePayload, Page, Playwright, expect

from e2e.conftest import PHONE, KillableBrowser
from e2e.hands import Hands, shot
from e2e.locks import choose_pin
from e2e.records import phone_entries, store, wait_until
from e2e.servers import Server
from e2e.test_start import wait_for_list
from e2e.watch import Watch

PLACE = b"GPSLatitude 51.4779"


def with_place(picture: bytes) -> bytes:
    """A JPEG as a phone's camera writes it: an Exif segment behind the first mark, here with words to look for."""
    exif = b"Exif\0\0MM\0*\0\0\0\x08\0\0" + b"\0\0\0\0" + PLACE
    return picture[:2] + b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif + picture[2:]


def taken(hands: Hands, picture: bytes) -> None:
    hands.act("more")
    before = hands.saved()
    file = FilePayload(name="screen.jpg", mimeType="image/jpeg", buffer=picture)
    hands.page.locator('[data-act="photo"] input').set_input_files(files=[file])
    hands.wait_saved(before + 1)


def camera(page: Page) -> bytes:
    return with_place(page.screenshot(type="jpeg"))


def begun(page: Page, link: str) -> Hands:
    page.goto(link)
    wait_for_list(page)
    expect(page.locator("body[data-offline=ready]")).to_be_attached()
    hands = Hands(page)
    hands.begin_visit("Pepper")
    hands.go("liver")
    return hands


def bytes_at_the_practice(server: Server) -> list[bytes]:
    folder = server.instance / "gelside.photos"
    return [path.read_bytes() for path in sorted(folder.glob("??/*"))]


@pytest.mark.catalogue(18)
@pytest.mark.catalogue(19)
@pytest.mark.catalogue(49)
def test_a_photo_survives_a_crash_and_reaches_the_desk_without_its_place(
    server: Server, killable: KillableBrowser, phone_link: str, desk: Page
) -> None:
    page = killable.start(**PHONE)
    hands = begun(page, phone_link)
    picture = camera(page)
    assert PLACE in picture
    server.stop()
    hands.act("more")
    # The camera may end the page: where the hand is was written before the system's control opened.
    page.locator('[data-act="photo"]').dispatch_event("pointerdown")
    hands.act("close")
    taken(hands, picture)
    row = page.locator("[data-attached]")
    expect(row).to_contain_text("photo")
    (kept,) = store(page, "photos").values()
    assert "data" in kept and store(page, "photos_waiting") == {kept["hash"]: 1}

    killable.kill()
    page = killable.start(**PHONE)
    page.goto(server.address)
    hands = Hands(page)
    hands.act("go-on")
    expect(page.locator('[data-structure="liver"]')).to_be_attached()
    hands.tap("[data-attached]")
    expect(page.locator("img.shown")).to_be_visible()
    assert page.locator("img.shown").evaluate("(image) => image.decode().then(() => image.naturalWidth)") > 100
    shot(page, "photo")

    server.start()
    hands.act("close")
    hands.leave()
    hands.send_now()
    wait_until(page, lambda: store(page, "photos_waiting") == {})
    (sent,) = bytes_at_the_practice(server)
    assert hashlib.sha256(sent).hexdigest() == kept["hash"] and sent[:3] == b"\xff\xd8\xff"
    assert PLACE not in sent and b"Exif" not in sent

    desk.goto(f"{server.address}/sign-in")
    desk.locator("[name=person]").fill("IF")
    desk.locator("[name=password]").fill("only-for-the-demo")
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(f"{server.address}/review")
    desk.goto(f"{server.address}/review/exam/{kept['exam']}")
    seen = desk.locator("figure.attached img")
    expect(seen).to_be_visible()
    assert seen.evaluate("(image) => image.naturalWidth") > 100
    shot(desk, "photo-desk")


FULL = """
() => {
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (...given) {
    if (this.name === 'photos' && window.full) {
      this.transaction.abort();
      throw new DOMException('no room', 'QuotaExceededError');
    }
    return put.apply(this, given);
  };
  window.full = true;
}
"""


@pytest.mark.catalogue(6)
def test_a_full_storage_refuses_the_photo_with_its_size_and_still_takes_text(
    server: Server, phone: Page, phone_link: str
) -> None:
    hands = begun(phone, phone_link)
    phone.evaluate(FULL)
    before = hands.saved()
    hands.act("more")
    file = FilePayload(name="screen.jpg", mimeType="image/jpeg", buffer=camera(phone))
    phone.locator('[data-act="photo"] input').set_input_files(files=[file])
    told = phone.get_by_role("alert")
    expect(told).to_contain_text("kB")
    expect(told).to_contain_text("storage is full")
    assert hands.saved() == before and store(phone, "photos") == {}
    shot(phone, "photo-full")
    hands.act("close")
    hands.note("Still written.")
    phone.evaluate("window.full = false")
    taken(hands, camera(phone))
    assert len(store(phone, "photos")) == 1


FORGET_PLACE = """
() => new Promise((resolve) => {
  const opening = indexedDB.open('gelside');
  opening.onsuccess = () => {
    const tx = opening.result.transaction('draft', 'readwrite');
    tx.objectStore('draft').delete('position');
    tx.oncomplete = () => { opening.result.close(); resolve(); };
  };
})
"""


def test_the_camera_opened_by_a_key_keeps_the_place_too_and_an_unsent_photo_is_told(
    server: Server, phone: Page, phone_link: str
) -> None:
    hands = begun(phone, phone_link)
    server.stop()
    hands.act("more")
    phone.evaluate(FORGET_PLACE)
    phone.locator('[data-act="photo"] input').focus()
    with phone.expect_file_chooser():
        phone.keyboard.press("Space")
    wait_until(phone, lambda: store(phone, "draft").get("position", {}).get("structure") == "liver")
    hands.act("close")
    taken(hands, camera(phone))
    expect(phone.locator(".chip").first).to_contain_text("1 photo or clip not sent")
    server.start()
    phone.evaluate("dispatchEvent(new Event('online'))")
    wait_until(phone, lambda: store(phone, "photos_waiting") == {})
    expect(phone.locator(".chip").first).not_to_contain_text("photo")


def test_what_is_no_picture_is_refused_in_words(phone: Page, phone_link: str) -> None:
    hands = begun(phone, phone_link)
    hands.act("more")
    file = FilePayload(name="screen.jpg", mimeType="image/jpeg", buffer=b"no picture at all")
    phone.locator('[data-act="photo"] input').set_input_files(files=[file])
    expect(phone.get_by_role("alert")).to_contain_text("no picture that can be read here. Nothing was kept.")
    assert store(phone, "photos") == {}


def test_under_a_pin_a_photo_lies_sealed_and_still_goes_from_a_locked_phone(
    server: Server, phone: Page, phone_link: str
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    hands.act("settings")
    hands.tap_words("set a PIN")
    choose_pin(hands)
    hands.begin_visit("Pepper")
    server.stop()
    hands.go("liver")
    taken(hands, camera(phone))
    (kept,) = store(phone, "photos").values()
    assert "sealed" in kept and "data" not in kept
    hands.leave()
    hands.act("settings")
    hands.tap_words("lock now")
    expect(phone.locator("body[data-screen=locked]")).to_be_attached()
    server.start()
    phone.evaluate("dispatchEvent(new Event('online'))")
    wait_until(phone, lambda: store(phone, "photos_waiting") == {})
    (sent,) = bytes_at_the_practice(server)
    assert hashlib.sha256(sent).hexdigest() == kept["hash"]


# How much the recorder has given: a clip that is stopped before the first sound holds nothing.
HEARD = """
globalThis.heard = 0;
globalThis.MediaRecorder = class extends MediaRecorder {
  constructor(...given) {
    super(...given);
    this.addEventListener('dataavailable', ({ data }) => { globalThis.heard += data.size; });
  }
};
"""


@pytest.fixture
def hearing_options(browser_options: dict[str, Any]) -> dict[str, Any]:
    """A browser whose microphone is a tone."""
    more = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]
    return {**browser_options, "args": [*browser_options.get("args", []), *more]}


def test_a_clip_is_kept_with_the_structure_and_its_words_are_a_persons(
    playwright: Playwright, hearing_options: dict[str, Any], server: Server, phone_link: str, watch: Watch
) -> None:
    browser = playwright.chromium.launch(**hearing_options)
    try:
        context = browser.new_context(**PHONE, permissions=["microphone"])
        watch.over(context)
        page = context.new_page()
        page.add_init_script(HEARD)
        hands = begun(page, phone_link)
        hands.act("more")
        hands.tap_words("write a note")
        hands.tap_words("record a clip")
        shot(page, "clip")
        before = hands.saved()
        hands.act("clip-start")
        expect(page.get_by_text("Recording: speak now.")).to_be_visible()
        wait_until(page, lambda: page.evaluate("globalThis.heard > 0"))
        hands.act("clip-stop")
        hands.wait_saved(before + 1)
        expect(page.locator("[data-attached]")).to_contain_text("clip")
        hands.tap("[data-attached]")
        expect(page.locator("audio")).to_be_visible()
        page.locator("#clip-text").fill("capsule smo")
        wait_until(page, lambda: "capsule smo" in str(store(page, "draft")))
        hands.act("close")
        hands.tap("[data-attached]")
        expect(page.locator("#clip-text")).to_have_value("capsule smo")
        page.locator("#clip-text").fill("capsule smooth")
        hands.act("clip-words")
        hands.wait_saved(before + 2)
        clip, words = phone_entries(page)[-2:]
        assert (words["kind"], words["body"]) == ("noted", {"about": "liver", "text": "capsule smooth"})
        assert words["of"] == [clip["id"]]
        hands.tap("[data-attached]")
        expect(page.locator("[data-clip-words]")).to_have_text("capsule smooth")
        expect(page.locator("#clip-text")).to_have_value("")
        hands.act("close")
        wait_until(page, lambda: store(page, "photos_waiting") == {})
    finally:
        browser.close()
    (sent,) = bytes_at_the_practice(server)
    assert sent[:4] == b"\x1aE\xdf\xa3", "WebM"
