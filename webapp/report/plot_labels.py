"""Where words stand inside a plot's frame: beside what they name, on no limit's line and on no other words."""

from collections.abc import Iterable
from typing import NamedTuple

_WIDE = 0.6  # of the size: the widest digit of the shipped fonts, bold
_HIGH, _DEEP = 0.78, 0.22  # of the size, above and below the line that letters stand on
_AIR = 1.0  # between words and a line, with half of the line's own width


class Box(NamedTuple):
    """A stretch of the picture, y downwards."""

    left: float
    right: float
    top: float
    bottom: float


class Spot(NamedTuple):
    """Where a word may begin ("start") or end ("end"), and the line that its letters stand on."""

    x: float
    y: float
    anchor: str


def line(start: float, end: float, y: float) -> Box:
    """What a limit's line takes."""
    return Box(start, end, y - _AIR, y + _AIR)


def box(spot: Spot, words: Iterable[str], size: float, apart: float = 0.0) -> Box:
    """What words take that stand one below the other, `apart` from line to line."""
    rows = list(words)
    width = max(len(row) for row in rows) * size * _WIDE
    left = spot.x if spot.anchor == "start" else spot.x - width
    bottom = spot.y + apart * (len(rows) - 1) + size * _DEEP
    return Box(left, left + width, spot.y - size * _HIGH, bottom)


def free(
    spots: list[Spot], words: list[str], size: float, taken: list[Box], frame: Box, apart: float = 0.0
) -> tuple[Spot, Box]:
    """The first of the spots at which the words touch nothing that is taken; where all touch, the one that touches
    least. A spot out of the frame is taken only where no other is."""

    def touched(spot: Spot) -> float:
        one = box(spot, words, size, apart)
        outside = 1e6 if one.top < frame.top or one.bottom > frame.bottom else 0.0
        return outside + sum(_shared(one, other) for other in taken)

    best = min(spots, key=touched)
    return best, box(best, words, size, apart)


def beside(x: float, y: float) -> list[Spot]:
    """Left of a mean's mark, level with it, then ever further up and down: never so far that it names another."""
    return [Spot(x - 9, y + 4 + shift, "end") for step in range(10) for shift in sorted({-2 * step, 2 * step})]


def along(start: float, end: float, y: float) -> list[Spot]:
    """Above a limit's line, or below it, at its start, then at its end."""
    return [
        Spot(x, y + level, anchor)
        for level in (-4, 11, -7, 14)
        for x, anchor in ((start + 3, "start"), (end - 3, "end"))
    ]


def _shared(one: Box, other: Box) -> float:
    """The area that two boxes share."""
    across = min(one.right, other.right) - max(one.left, other.left)
    down = min(one.bottom, other.bottom) - max(one.top, other.top)
    return across * down if across > 0 and down > 0 else 0.0
