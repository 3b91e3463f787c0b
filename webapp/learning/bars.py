"""Counts as bars lying one below the other: an SVG of shapes and words that reads in grey and on paper.

Parts of a bar are told apart by their filling: solid, hatched, empty. The table beside it holds the same figures, so
that the picture is one image with a sentence to a screen reader.
"""

from collections.abc import Sequence
from html import escape
from typing import NamedTuple

WIDTH, ROW, THICK = 900, 26, 16
NAMES, END = 300, 60
FILLINGS = ("solid", "hatched", "empty")


class Bar(NamedTuple):
    """A name, its parts in the order of FILLINGS (counts), and what stands behind the bar."""

    name: str
    parts: Sequence[int]
    end: str


def lying(bars: Sequence[Bar], name: str, alternative: str) -> str:
    """The SVG's text, "" where there is nothing to draw; `name` tells its ids from those of others on the page."""
    longest = max((sum(bar.parts) for bar in bars), default=0)
    if not longest:
        return ""
    height = ROW * len(bars) + 8
    room = WIDTH - NAMES - END - 110
    parts = [
        f'<svg class="bars" role="img" viewBox="0 0 {WIDTH} {height}" xmlns="http://www.w3.org/2000/svg">',
        f"<title>{escape(alternative)}</title>",
        f'<defs><pattern id="hatch-{name}" width="6" height="6" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)">'
        '<rect class="paper" width="6" height="6"/><line class="stroke" x1="0" y1="0" x2="0" y2="6"/></pattern></defs>',
    ]
    for number, bar in enumerate(bars):
        top = 4 + ROW * number
        parts.append(f'<text x="{NAMES - 10}" y="{top + 13}" text-anchor="end">{escape(bar.name)}</text>')
        x = float(NAMES)
        for filling, count in zip(FILLINGS, bar.parts, strict=False):
            wide = room * count / longest
            if count:
                fill = f' fill="url(#hatch-{name})"' if filling == "hatched" else ""
                parts.append(
                    f'<rect class="part {filling}"{fill} x="{x:.1f}" y="{top}" width="{wide:.1f}" height="{THICK}"/>'
                )
            x += wide
        parts.append(f'<text x="{x + 8:.1f}" y="{top + 13}">{escape(bar.end)}</text>')
    return "".join([*parts, "</svg>"])
