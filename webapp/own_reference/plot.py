"""Values of healthy animals as dots above one line, with published and own limits: an SVG made of shapes and words.

A dot that counts is filled, one that a test names is a diamond, one left out is a cross: it reads in grey and on paper.
The picture repeats the table beside it and is one image to a screen reader, with a sentence for its alternative.
"""

from collections.abc import Sequence
from html import escape
from typing import NamedTuple

WIDTH, LEFT, RIGHT = 900, 30, 30
DOT, STEP, GAP = 5, 12, 22
MOST_HIGH = 14
COLUMNS = 60
NAMED, LEFT_OUT, COUNTS = "named", "left out", "counts"


class Dot(NamedTuple):
    """One animal's value; `kind` is COUNTS, NAMED (a test of outliers names it) or LEFT_OUT."""

    value: float
    kind: str


class Limit(NamedTuple):
    """A bound to draw, with its words; `between` is its own interval, or None."""

    value: float
    words: str
    between: tuple[float, float] | None = None


def dots(values: Sequence[Dot], limits: Sequence[Limit], unit: str, alternative: str) -> str:
    """The SVG's text; "" where there is nothing to draw."""
    if not values:
        return ""
    low, high = _ends([one.value for one in values], [one.value for one in limits])
    columns = _columns(values, low, high)
    tallest = max(len(column) for column in columns.values())
    step = STEP if tallest <= MOST_HIGH else STEP * MOST_HIGH / tallest
    base = 14 + GAP * len(limits) + step * tallest + 8
    height = base + 44
    parts = [
        f'<svg class="dots" role="img" viewBox="0 0 {WIDTH} {height:.0f}" xmlns="http://www.w3.org/2000/svg">',
        f"<title>{escape(alternative)}</title>",
        f'<line class="axis" x1="{LEFT}" y1="{base:.1f}" x2="{WIDTH - RIGHT}" y2="{base:.1f}"/>',
    ]
    for number, one in enumerate(limits):
        parts += _limit(one, _x(one.value, low, high), 14 + GAP * number, base, (low, high))
    for place, column in columns.items():
        x = LEFT + (WIDTH - LEFT - RIGHT) * (place + 0.5) / COLUMNS
        parts += [_dot(dot.kind, x, base - 8 - step * level) for level, dot in enumerate(column)]
    for tick in _ticks(low, high):
        x = _x(tick, low, high)
        parts.append(f'<line class="axis" x1="{x:.1f}" y1="{base:.1f}" x2="{x:.1f}" y2="{base + 5:.1f}"/>')
        parts.append(f'<text x="{x:.1f}" y="{base + 20:.1f}" text-anchor="middle">{tick:g}</text>')
    parts.append(f'<text x="{WIDTH - RIGHT}" y="{base + 38:.1f}" text-anchor="end">{escape(unit)}</text>')
    return "".join([*parts, "</svg>"])


def _ends(values: list[float], limits: list[float]) -> tuple[float, float]:
    """A little more than what is drawn, so that nothing stands on the edge."""
    low, high = min(values + limits), max(values + limits)
    room = (high - low) * 0.04 or max(abs(high) * 0.04, 0.5)
    return low - room, high + room


def _x(value: float, low: float, high: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * (value - low) / (high - low)


def _columns(values: Sequence[Dot], low: float, high: float) -> dict[int, list[Dot]]:
    """The dots that stand above each other, by the place of their column; those that count at the bottom."""
    order = {COUNTS: 0, NAMED: 1, LEFT_OUT: 2}
    made: dict[int, list[Dot]] = {}
    for dot in sorted(values, key=lambda dot: (dot.value, order[dot.kind])):
        place = min(COLUMNS - 1, int((dot.value - low) / (high - low) * COLUMNS))
        made.setdefault(place, []).append(dot)
    return {place: sorted(column, key=lambda dot: order[dot.kind]) for place, column in made.items()}


def _dot(kind: str, x: float, y: float) -> str:
    if kind == COUNTS:
        return f'<circle class="counts" cx="{x:.1f}" cy="{y:.1f}" r="{DOT}"/>'
    if kind == NAMED:
        far = DOT + 2
        corners = ((x, y - far), (x + far, y), (x, y + far), (x - far, y))
        points = " ".join(f"{across:.1f},{down:.1f}" for across, down in corners)
        return f'<polygon class="named" points="{points}"/>'
    left, right, top, bottom = (f"{edge:.1f}" for edge in (x - DOT, x + DOT, y - DOT, y + DOT))
    return f'<path class="left-out" d="M{left} {top}L{right} {bottom}M{left} {bottom}L{right} {top}"/>'


def _limit(one: Limit, x: float, y: float, base: float, ends: tuple[float, float]) -> list[str]:
    """A dashed line with its words on the side that has room, and its interval as a bar."""
    right = x > WIDTH / 2
    place = f'x="{x - 6 if right else x + 6:.1f}" y="{y + 4:.1f}" text-anchor="{"end" if right else "start"}"'
    parts = [
        f'<line class="limit" x1="{x:.1f}" y1="{y - 8:.1f}" x2="{x:.1f}" y2="{base:.1f}"/>',
        f"<text {place}>{escape(one.words)}</text>",
    ]
    if one.between:
        first, last = (_x(edge, *ends) for edge in one.between)
        parts.append(f'<line class="between" x1="{first:.1f}" y1="{base:.1f}" x2="{last:.1f}" y2="{base:.1f}"/>')
    return parts


def _ticks(low: float, high: float) -> list[float]:
    """About eight round numbers along the line."""
    rough = (high - low) / 8
    size = 10.0 ** (len(str(int(rough))) - 1) if rough >= 1 else 10.0 ** -_zeros(rough)
    step = next(size * one for one in (1, 2, 2.5, 5, 10) if size * one >= rough)
    first = int(low // step) + 1
    return [round(number * step, 6) for number in range(first, int(high // step) + 1)]


def _zeros(rough: float) -> int:
    """Places after the point until the first digit that is not zero."""
    places = 1
    while rough * 10**places < 1:
        places += 1
    return places
