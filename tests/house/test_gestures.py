"""Taps alone: nothing on the phone listens for a swipe, a drag, a long press or a double tap."""

import re

from tests.house.tree import ROOT

APP = sorted((ROOT / "static" / "app").glob("*.js"))
# Everything the app listens to: taps and typing on the screen, and what the system says of page, network and storage.
HEARD = {
    "click", "change", "input", "keydown", "paste", "pointerdown", "toggle",
    "focus", "pageshow", "beforeunload", "hashchange", "visibilitychange", "resize", "online", "offline", "release",
    "message", "controllerchange", "updatefound", "statechange",
}
LISTENS = re.compile(r"""@([a-z]+)=\$\{|addEventListener\(\s*['"]([a-z]+)['"]|\.on([a-z]+)\s*=(?!=)""")


def heard() -> dict[str, list[str]]:
    """Event names to the places that listen to them."""
    found: dict[str, list[str]] = {}
    for path in APP:
        for match in LISTENS.finditer(path.read_text(encoding="utf-8")):
            name = next(group for group in match.groups() if group)
            found.setdefault(name, []).append(path.name)
    return found


def test_the_search_finds_what_the_app_listens_to() -> None:
    """A search that found nothing would prove nothing."""
    found = heard()
    assert len(found["click"]) > 100 and "keydown" in found and "visibilitychange" in found


def test_no_gesture_is_listened_to() -> None:
    of_system = {"success", "error", "blocked", "upgradeneeded", "result", "end", "dataavailable", "stop", "close"}
    # A finger's going up brings nothing about either: what was to be drawn meanwhile is drawn then.
    steady = {"pointerup": ["finger.js"], "pointercancel": ["finger.js"]}
    assert {name: where for name, where in heard().items() if name not in HEARD | of_system} == steady


def test_a_finger_down_only_remembers_the_place() -> None:
    """The one listener that comes before a tap is over keeps the hand's place; it acts on nothing."""
    text = "\n".join(path.read_text(encoding="utf-8") for path in APP)
    assert re.findall(r"@pointerdown=\$\{(.*?)\}", text) == ["() => keepPosition()"]


def test_no_style_asks_for_a_swipe_sideways() -> None:
    styles = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "static" / "styles").glob("*.css"))
    assert not re.search(r"scroll-snap|overflow-x:\s*(auto|scroll)|draggable|touch-action:\s*pan", styles)
