"""A hand that is quicker than the storage, the rules or the list: nothing is lost, and no tap is another's."""

from typing import Any

from playwright.sync_api import Page, expect

from e2e.appointments import at_the_desk
from e2e.hands import Hands
from e2e.records import phone_entries, readings, store, wait_until
from e2e.servers import Server
from e2e.test_list import open_list, order, row
from e2e.test_right_animal import AWAY_MS
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in

CAUDAL = "adrenal.left.caudal_pole_thickness"
CRANIAL = "adrenal.left.cranial_pole_thickness"
# The journal's transactions end one by one, as the test lets them pass, or are refused; without a word they all pass.
SLOW = """
globalThis.passes = Infinity;
globalThis.refuses = false;
const add = IDBObjectStore.prototype.add;
IDBObjectStore.prototype.add = function (...given) {
  const request = add.apply(this, given);
  if (this.name !== 'entries') return request;
  const wait = () => {
    if (globalThis.refuses) this.transaction.abort();
    else if (globalThis.passes > 0) globalThis.passes -= 1;
    else this.count().onsuccess = wait;
  };
  wait();
  return request;
};
"""
# What the rules answer waits until the test lets it come.
RULES_HELD = """
globalThis.held = null;
globalThis.Worker = class extends Worker {
  set onmessage(act) {
    super.onmessage = (event) => (globalThis.held ? globalThis.held.push(() => act(event)) : act(event));
  }
};
globalThis.answer = () => {
  const waiting = globalThis.held;
  globalThis.held = null;
  for (const one of waiting) one();
};
"""
TWO_FRAMES = "() => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(() => drawn())))"
PLACE = """
(place) => new Promise((resolve) => {
  const opening = indexedDB.open('gelside');
  opening.onsuccess = () => {
    const tx = opening.result.transaction('draft', 'readwrite');
    tx.objectStore('draft').put(place, 'position');
    tx.oncomplete = () => { opening.result.close(); resolve(); };
  };
})
"""


def at_the_gland(phone: Page, link: str, script: str = "") -> Hands:
    if script:
        phone.add_init_script(script)
    phone.goto(link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.wait_judged()
    return hands


def test_an_answer_of_the_rules_moves_no_row_away_under_a_finger(phone: Page, phone_link: str) -> None:
    hands = at_the_gland(phone, phone_link, RULES_HELD)
    hands.read(CAUDAL, "3.0")
    hands.wait_judged()
    phone.evaluate("globalThis.held = []")
    hands.read(CAUDAL, "8.0")  # the two lie apart: a line will stand under them
    hands.take_row(CAUDAL)
    box = hands.row(CRANIAL).locator(".box").first
    place = box.bounding_box()
    assert place is not None
    finger = phone.context.new_cdp_session(phone)
    x, y = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
    finger.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    wait_until(phone, lambda: bool(phone.evaluate("globalThis.held.length")))
    phone.evaluate("answer()")
    phone.evaluate(TWO_FRAMES)
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(phone.locator(f'.row.current[data-row="{CRANIAL}"]')).to_be_attached()
    hands.wait_judged()
    moved = box.bounding_box()
    assert moved is not None and moved["y"] > y, "the line stands there now, and the row has made room"


def test_a_digit_is_taken_back_and_typed_anew_before_the_storage_has_answered(phone: Page, phone_link: str) -> None:
    """Of two numbers that are on their way to the disk, the second one is taken back, and goes on from its digits."""
    hands = at_the_gland(phone, phone_link, SLOW)
    phone.evaluate("globalThis.passes = 0")
    hands.keys("6.26.4")
    hands.act("erase")
    assert hands.typed() == "6."
    hands.keys("5")
    phone.evaluate("globalThis.passes = 1")
    expect(phone.locator('body[data-saved="2"]')).to_be_attached()
    assert hands.typed() == "6.5"
    phone.evaluate("globalThis.passes = Infinity")
    hands.wait_saved(4)
    hands.act("keep")
    hands.wait_saved(5)
    entries = phone_entries(phone)
    assert [entry["kind"] for entry in entries] == ["opened", "read", "read", "struck", "read"]
    assert [value for value, _ in readings(entries, CAUDAL)] == ["6.2", "6.4", "6.5"]
    assert entries[3]["of"] == [entries[2]["id"]]


def test_an_undo_between_two_answers_of_the_storage_takes_back_what_it_names(phone: Page, phone_link: str) -> None:
    hands = at_the_gland(phone, phone_link, SLOW)
    phone.evaluate("globalThis.passes = 0")
    hands.keys("6.26.4")
    phone.evaluate("globalThis.passes = 1")
    expect(phone.locator('body[data-saved="2"]')).to_be_attached()
    hands.act("erase")
    phone.evaluate("globalThis.passes = Infinity")
    hands.wait_saved(4)
    entries = phone_entries(phone)
    assert entries[3]["kind"] == "struck" and entries[3]["of"] == [entries[2]["id"]]
    assert hands.typed() == "6." and hands.boxes(CAUDAL)[0] == "6.2"


def test_an_exam_is_left_and_finished_only_when_the_storage_took_what_was_tapped(phone: Page, phone_link: str) -> None:
    hands = at_the_gland(phone, phone_link, SLOW)
    for number, way in enumerate((("animal", "leave"), ("open-sheet", "close-exam"))):
        phone.evaluate("globalThis.passes = 0")
        hands.go("adrenal.left")
        hands.keys("6.4")
        for act in way:
            hands.act(act)
        phone.evaluate("globalThis.refuses = true")
        expect(phone.locator("body[data-screen=exam] .echo.bad")).to_contain_text("6.4")
        phone.evaluate("Object.assign(globalThis, { refuses: false, passes: Infinity })")
        hands.act("save-again")
        hands.wait_saved(2 + number)
    hands.act("open-sheet")
    button = phone.locator('[data-act="close-exam"]')
    expect(button).to_be_visible()
    phone.evaluate("for (const _ of [1, 2]) document.querySelector('[data-act=close-exam]').click()")
    expect(phone.locator("body[data-screen=list]")).to_be_attached()
    entries = phone_entries(phone)
    assert [entry["kind"] for entry in entries] == ["opened", "read", "read", "closed"], "finished once, by two taps"


def test_a_number_that_was_kept_as_the_phone_died_stands_in_no_box_again(phone: Page, phone_link: str) -> None:
    hands = at_the_gland(phone, phone_link)
    hands.read(CAUDAL, "6.2")
    wait_until(phone, lambda: written(phone)["typed"] == "" and written(phone).get("readings", 1) == 1)
    for typed, known, stands in (("6.2", 0, ""), ("6.", 0, ""), ("6", 1, "6"), ("7.1", 0, "7.1")):
        phone.evaluate(PLACE, {**written(phone), "row": CAUDAL, "typed": typed, "readings": known})
        phone.reload()
        expect(phone.locator("body[data-screen=resume]")).to_be_attached()
        asked = phone.locator(".resume .asked")
        expect(asked).to_contain_text(f'"{stands}" typed' if stands else "reading 2; ")
        hands.act("go-on")
        expect(phone.locator("body[data-screen=exam]")).to_be_attached()
        assert hands.typed() == stands, (typed, known)
    assert readings(phone_entries(phone), CAUDAL) == [("6.2", "6.2")]


def written(page: Page) -> dict[str, Any]:
    place: dict[str, Any] = store(page, "draft")["position"]
    return place


# The phone's clock is set right, by ten minutes back.
PUT_BACK = "() => { const now = Date.now; Date.now = () => now() - 600000; }"


def test_a_clock_that_is_put_back_swallows_no_touch(phone: Page, phone_link: str) -> None:
    phone.clock.install()
    hands = at_the_gland(phone, phone_link)
    phone.clock.fast_forward(AWAY_MS)
    expect(phone.locator("body[data-screen=resume]")).to_be_attached()
    phone.evaluate(PUT_BACK)
    phone.clock.run_for(1000)
    hands.act("go-on")
    expect(phone.locator("body[data-screen=exam]")).to_be_attached()


# Each time the list is drawn: its first animal, and whether the rows take a tap.
DRAWN = """
() => {
  globalThis.drawn = [];
  new MutationObserver(() => {
    const first = document.querySelector('[data-visit]');
    if (first) drawn.push(`${first.querySelector('b').textContent} ${first.getAttribute('aria-disabled')}`);
  }).observe(document.body, { subtree: true, childList: true, attributes: true, characterData: true });
}
"""


def test_rows_that_have_just_moved_say_that_they_take_no_tap(phone: Page, server: Server, phone_link: str) -> None:
    hands = open_list(phone, phone_link)
    first = order(phone)[0]
    phone.evaluate(DRAWN)
    with at_the_desk(server) as practice:
        practice.change("Otto", "order", 0)
    phone.evaluate("dispatchEvent(new Event('online'))")
    expect(phone.locator("[data-visit] b").first).to_have_text("Otto")
    phone.evaluate(PUT_BACK)
    hands.tap(row(phone, first))  # waits until it may, and no longer
    expect(phone.locator("body[data-screen=start]")).to_be_attached()
    drawn = phone.evaluate("drawn")
    assert "Otto true" in drawn and f"{first} true" not in drawn and drawn[-1] == "Otto false", drawn
