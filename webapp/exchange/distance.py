"""The distance between two points of a calibrated still, and how far it can be from the true one by its pixels alone.

L = sqrt((dx sx)^2 + (dy sy)^2): dx, dy pixels between the points, sx, sy mm for one pixel of each axis. A point lies
anywhere in its pixel, half a pixel to either side: a rectangular distribution of half-width a = 1/2 with the standard
uncertainty a / sqrt 3 (JCGM 100:2008, 4.3.7), at both ends of each axis. So u(dx)^2 = u(dy)^2 = 2 (1/2)^2 / 3 = 1/6,
and by the law of propagation (5.1.2)  u(L)^2 = ((dx sx^2)^2 + (dy sy^2)^2) / (6 L^2). How well a person sets a point,
and whether the machine's own scale is true, is not in it.
"""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal, localcontext
from typing import NamedTuple

Point = tuple[int, int]  # column and row of a pixel, from 0
TENTH, HUNDREDTH = Decimal("0.1"), Decimal("0.01")


class CannotMeasure(ValueError):
    """These two points give no distance; the message says why and what to do."""


class Region(NamedTuple):
    """A part of the picture with one scale: its corner pixels, both inside, and mm per pixel along each axis, exact as
    the file wrote it; None where the file gives no length for that axis."""

    left: int
    top: int
    right: int
    bottom: int
    across: Decimal | None
    down: Decimal | None

    def holds(self, point: Point) -> bool:
        return self.left <= point[0] <= self.right and self.top <= point[1] <= self.bottom

    @property
    def square(self) -> bool:
        return self.across is not None and self.across == self.down


class Distance(NamedTuple):
    """`mm` rounded half up to a tenth, `uncertainty` (standard, by pixels alone) up to the next hundredth."""

    mm: Decimal
    uncertainty: Decimal
    region: Region


def between(one: Point, other: Point, regions: Sequence[Region]) -> Distance:
    """The distance by the scale of the region that holds both points. Raises CannotMeasure."""
    if one == other:
        raise CannotMeasure("Both points are the same pixel: move one of them.")
    fitting = [region for region in regions if region.holds(one) and region.holds(other)]
    if not fitting:
        raise CannotMeasure("Both points must lie in one part of the picture that has a scale.")
    if len({(region.across, region.down) for region in fitting}) > 1:
        raise CannotMeasure("Two parts with different scales hold both points: no distance can be given there.")
    region = fitting[0]
    across, down = abs(one[0] - other[0]), abs(one[1] - other[1])
    if across and region.across is None:
        raise CannotMeasure("The file gives no scale from left to right here: only straight down can be measured.")
    if down and region.down is None:
        raise CannotMeasure("The file gives no scale from top to bottom here: only straight across can be measured.")
    with localcontext() as context:
        context.prec = 40
        # Along an axis without a scale the points do not differ, so it counts for nothing.
        per_x, per_y = region.across or Decimal(0), region.down or Decimal(0)
        square = (across * per_x) ** 2 + (down * per_y) ** 2
        spread = ((across * per_x**2) ** 2 + (down * per_y**2) ** 2) / (6 * square)
        mm, uncertainty = square.sqrt(), spread.sqrt()
        shown = mm.quantize(TENTH, ROUND_HALF_UP)
        if shown == 0:
            raise CannotMeasure("The points lie closer together than 0.1 mm.")
        return Distance(shown, uncertainty.quantize(HUNDREDTH, "ROUND_UP"), region)
