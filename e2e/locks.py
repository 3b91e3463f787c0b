"""PIN and pairing by hand: what a finger does on the phone, and what the desk presses."""

import re

from playwright.sync_api import Page, expect

from e2e.hands import Hands

PIN = "2468"
STRETCHED_MS = 60_000  # a PIN is stretched 600,000 times: slow on purpose

HIDE = """
(hidden) => {
  const state = hidden ? 'hidden' : 'visible';
  Object.defineProperty(document, 'visibilityState', { configurable: true, get: () => state });
  document.dispatchEvent(new Event('visibilitychange'));
}
"""


def type_pin(hands: Hands, pin: str) -> None:
    """The PIN's own keys, then "open", "keep" or "go on"."""
    for digit in pin:
        hands.tap(f'.pin-keys [data-key="{digit}"]')
    hands.act("pin-done")


def try_pin(hands: Hands, pin: str) -> None:
    """Type it on the locked screen and wait for the answer."""
    type_pin(hands, pin)
    hands.page.locator(
        '[data-act="pin-done"]:not([disabled]), body:not([data-screen="locked"]), [data-lock="blocked"]'
    ).first.wait_for(state="attached", timeout=STRETCHED_MS)


def choose_pin(hands: Hands, pin: str = PIN) -> None:
    """From the screen that asks for a new PIN: twice the same."""
    type_pin(hands, pin)
    expect(hands.page.get_by_text("The same PIN again")).to_be_visible()
    type_pin(hands, pin)
    expect(hands.page.locator("body[data-screen=list]")).to_be_attached(timeout=STRETCHED_MS)


def set_pin(hands: Hands) -> None:
    """From the list: the practice asks for a PIN."""
    hands.act("set-pin")
    choose_pin(hands)


def lock_now(hands: Hands) -> None:
    """From the list."""
    hands.act("settings")
    hands.tap_words("lock now")
    expect(hands.page.locator("body[data-screen=locked]")).to_be_attached()


def unlock(hands: Hands, pin: str = PIN) -> None:
    try_pin(hands, pin)
    expect(hands.page.locator("body:not([data-screen=locked])")).to_be_attached()


def hide(page: Page, minutes: int) -> None:
    """The phone in a pocket for so long; the page's clock was installed before."""
    page.evaluate(HIDE, True)
    page.clock.fast_forward(minutes * 60_000)
    page.evaluate(HIDE, False)


def start_pairing(desk: Page, address: str) -> str:
    """At the desk, signed in: a new pairing; the typed code as it is shown."""
    desk.goto(f"{address}/phones")
    desk.get_by_role("button", name="Pair a new phone").click()
    return desk.locator(".code").inner_text()


def compare(desk: Page, phone: Page) -> None:
    """The same six digits on both, then the desk lets it in."""
    shown = phone.locator("[data-number]")
    expect(shown).to_be_visible()
    number = shown.get_attribute("data-number")
    assert number is not None and re.fullmatch(r"\d{6}", number)
    expect(desk.locator(".compare")).to_have_text(number)  # the desk's page looks by itself
    desk.get_by_role("button", name="Yes, the same number: let it in").click()


def revoke(desk: Page, address: str) -> None:
    """The desk revokes its one phone."""
    desk.goto(f"{address}/phones")
    desk.locator("table.phones details summary").first.click()
    desk.get_by_role("button", name=re.compile("^Revoke ")).click()
    expect(desk.get_by_text("is revoked. At its next contact")).to_be_visible()
