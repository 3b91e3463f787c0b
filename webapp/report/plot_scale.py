"""Where on the paper a day and a number stand: the scale of a plot of one quantity over exams."""

from datetime import date
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Any, NamedTuple

Json = dict[str, Any]

EDGE = 40  # room left and right of the outer points, for their words and readings
CLOSEST = 58  # two exams never stand closer, as long as there is room
JUDGING = ("limit", "on_indication", "alert")
REACH = Decimal("0.8")  # a bound so many heights of the values away still widens the picture


class Scale(NamedTuple):
    """Places in the plot's frame, from its left upper corner. `low` and `high` bound what fits into it."""

    across: list[float]
    low: Decimal
    high: Decimal
    height: int
    width: int
    ticks: list[str]

    def up(self, number: object) -> float:
        """How far below the frame's upper edge a number stands."""
        return float((self.high - Decimal(str(number))) / (self.high - self.low) * self.height)

    def fits(self, number: object) -> bool:
        """Whether the number lies in the picture."""
        return self.low <= Decimal(str(number)) <= self.high


def made(points: list[Json], width: int, height: int) -> Scale:
    """The scale in which every reading and every bar fits, and the limits that lie near them."""
    low, high = _range(points)
    step = _step(high - low)
    low = (low / step).to_integral_value(ROUND_FLOOR) * step
    high = (high / step).to_integral_value(ROUND_CEILING) * step
    places = max(0, -step.normalize().adjusted())
    ticks = [f"{low + step * place:.{places}f}" for place in range(int((high - low) / step) + 1)]
    return Scale(_across([point["date"] for point in points], width), low, high, height, width, ticks)


def _range(points: list[Json]) -> tuple[Decimal, Decimal]:
    inside = []
    for point in points:
        value, half = Decimal(point["value"]), Decimal(point["uncertainty"] or "0")
        inside += [value - half, value + half, *(Decimal(one) for one in point["readings"] + point["set_aside"])]
    low, high = min(inside, default=Decimal(0)), max(inside, default=Decimal(1))
    reach = max(high - low, abs(high) / 4, Decimal("0.1")) * REACH
    bounds = [
        (Decimal(row[side]), row["use"] in JUDGING)
        for point in points
        for row in point["limits"]
        for side in ("lower", "upper")
        if row[side] is not None
    ]
    for bound, judges in bounds:
        if low - reach * (2 if judges else 1) <= bound <= high + reach * (2 if judges else 1):
            inside.append(bound)
    low, high = min(inside, default=low), max(inside, default=high)
    room = max(high - low, abs(high) / 20, Decimal("0.1")) / 12
    return low - room, high + room


def _step(span: Decimal) -> Decimal:
    """The distance of two ticks: 1, 2 or 5 of some power of ten, so that four to six of them fit."""
    power = Decimal(10) ** (span.adjusted() - 1)
    for times in (1, 2, 5, 10, 20, 50):
        if span / (power * times) <= 5:
            return power * times
    return power * 100


def _across(days: list[str], width: int) -> list[float]:
    """Days in proportion to the time between them, none nearer to the next than a mark with its words needs."""
    if len(days) < 2:
        return [width / 2 for _ in days]
    gaps = [max(0, _day(later) - _day(day)) for day, later in zip(days, days[1:], strict=False)]
    room = width - 2 * EDGE
    least = min(CLOSEST, room / len(gaps))
    spare, total = room - least * len(gaps), sum(gaps)
    places = [float(EDGE)]
    for gap in gaps:
        places.append(places[-1] + least + (spare * gap / total if total else spare / len(gaps)))
    return places


def _day(text: str) -> int:
    try:
        return date.fromisoformat(str(text)[:10]).toordinal()
    except ValueError:
        return 0
