"""A phone whose storage is full says so: what is not kept is never called kept, nor judged, nor lost."""

import pytest
from playwright.sync_api import Page, expect

from e2e.hands import Hands, shot
from e2e.records import phone_entries, readings
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in

CAUDAL = "adrenal.left.caudal_pole_thickness"
# While the switch is on, the journal's store takes nothing more, as on a full phone.
FULL = """
const add = IDBObjectStore.prototype.add;
IDBObjectStore.prototype.add = function (...given) {
  if (globalThis.storageIsFull && this.name === 'entries') throw new DOMException('full', 'QuotaExceededError');
  return add.apply(this, given);
};
"""


@pytest.mark.catalogue(5)
def test_refused_entry_is_not_called_saved_and_is_kept_at_the_second_try(phone: Page, phone_link: str) -> None:
    phone.add_init_script(FULL)
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read(CAUDAL, "6.2")
    hands.wait_judged()
    before = phone_entries(phone)

    phone.evaluate("globalThis.storageIsFull = true")
    hands.keys("6.4")
    expect(phone.locator(".echo.bad")).to_contain_text("NOT saved")
    expect(phone.locator("[data-kept=yes]")).to_have_count(0)
    shot(phone, "storage-full")
    assert hands.boxes(CAUDAL) == ["6.2"]
    assert phone_entries(phone) == before
    hands.wait_judged()

    phone.evaluate("globalThis.storageIsFull = false")
    hands.act("save-again")
    hands.wait_saved(3)
    hands.wait_judged()
    assert hands.boxes(CAUDAL) == ["6.2", "6.4"]
    assert phone_entries(phone)[:2] == before
    assert [value for value, _ in readings(phone_entries(phone), CAUDAL)] == ["6.2", "6.4"]
    assert "mean 6.3" in hands.row(CAUDAL).inner_text()


@pytest.mark.catalogue(5)
def test_value_that_is_not_saved_is_named_wherever_the_hand_goes_until_it_is(phone: Page, phone_link: str) -> None:
    """Two values are refused: both stand by name, on every page of the exam; it is neither left nor finished before."""
    phone.add_init_script(FULL)
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.take_row(CAUDAL)
    phone.evaluate("globalThis.storageIsFull = true")
    for value in ("6.4", "6.7"):
        hands.keys(value)
        expect(phone.locator(".echo.bad")).to_contain_text(f"{value} mm")
    words = phone.locator(".echo.bad").inner_text().replace("\u00a0", " ")
    assert words.startswith("NOT saved: ") and "6.4 mm; " in words and "audal" in words
    expect(phone.locator("#status")).to_contain_text("6.7 mm")
    shot(phone, "not-saved")
    for page in ("animal", "all"):
        hands.act(page)
        expect(phone.locator(".echo.bad")).to_contain_text("6.4 mm; ")
        shot(phone, f"not-saved-{page}")
        if page == "animal":
            # To leave now would lose them: the exam comes back with what is not saved.
            hands.act("leave")
        else:
            hands.tap('[data-go="adrenal.left"]')
        expect(phone.locator("body[data-screen=exam]")).to_be_attached()
    hands.act("open-sheet")
    hands.act("close-exam")
    expect(phone.locator("body[data-screen=exam]")).to_be_attached()
    phone.evaluate("globalThis.storageIsFull = false")
    hands.act("save-again")
    hands.wait_saved(3)
    assert [value for value, _ in readings(phone_entries(phone), CAUDAL)] == ["6.4", "6.7"]
    hands.leave()
