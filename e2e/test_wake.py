"""The screen stays awake while an exam is on it, and not a moment longer."""

from playwright.sync_api import Page, expect

from e2e.hands import Hands
from e2e.records import wait_until
from e2e.test_start import wait_for_list
from e2e.test_walk_in import begin_walk_in

# The system's lock, as the page sees it: granted, released, and taken away by the system when the page is hidden.
STUB = """
window.locks = [];
const wakeLock = { async request(kind) {
  const lock = new EventTarget();
  lock.kind = kind;
  lock.held = true;
  lock.release = async () => { lock.held = false; lock.dispatchEvent(new Event('release')); };
  window.locks.push(lock);
  return lock;
} };
Object.defineProperty(Navigator.prototype, 'wakeLock', { configurable: true, get: () => wakeLock });
"""


def held(page: Page) -> list[str]:
    kinds: list[str] = page.evaluate("window.locks.filter((one) => one.held).map((one) => one.kind)")
    return kinds


def test_awake_from_the_first_structure_to_the_end_and_again_after_the_system_took_it(
    phone: Page, phone_link: str
) -> None:
    phone.add_init_script(STUB)
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    assert held(phone) == [], "the list may sleep"
    begin_walk_in(hands, "dog", "8.4")
    wait_until(phone, lambda: held(phone) == ["screen"])
    hands.go("adrenal.left")
    hands.act("open-sheet")
    wait_until(phone, lambda: held(phone) == ["screen"])
    phone.evaluate("window.locks.at(-1).release()")
    assert held(phone) == []
    phone.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    wait_until(phone, lambda: held(phone) == ["screen"])
    hands.act("close-exam")
    expect(phone.locator("body[data-screen=list]")).to_be_attached()
    wait_until(phone, lambda: held(phone) == [])


def test_a_phone_that_refuses_the_lock_loses_nothing_else(phone: Page, phone_link: str) -> None:
    refusing = "request: async () => { throw new DOMException('battery', 'NotAllowedError'); }"
    phone.add_init_script(
        f"Object.defineProperty(Navigator.prototype, 'wakeLock', {{ get: () => ({{ {refusing} }}) }});")
    phone.goto(phone_link)
    wait_for_list(phone)
    hands = Hands(phone)
    begin_walk_in(hands, "dog", "8.4")
    hands.go("adrenal.left")
    hands.read("adrenal.left.caudal_pole_thickness", "4.2")
