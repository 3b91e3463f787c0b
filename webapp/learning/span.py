"""The range of days that the figures are of, as typed."""

from collections.abc import Mapping
from datetime import date
from typing import NamedTuple

from webapp import dates
from webapp.review import words


class Span(NamedTuple):
    """First and last day (YYYY-MM-DD, both included, "" = open); `typed` as typed, `errors` by field."""

    first: str
    last: str
    typed: dict[str, str]
    errors: dict[str, str]

    @property
    def said(self) -> str:
        """In words."""
        if self.first and self.last:
            return f"{words.day(self.first)} to {words.day(self.last)}"
        if self.first:
            return f"from {words.day(self.first)} on"
        return f"up to {words.day(self.last)}" if self.last else "all days"

    def holds(self, day: str | None) -> bool:
        """Whether a day lies in it; a day nobody knows only where all do."""
        if not day:
            return not self.first and not self.last
        return (not self.first or day >= self.first) and (not self.last or day <= self.last)


def asked(given: Mapping[str, str]) -> Span:
    """The range in an address: days as people write them."""
    typed = {name: given.get(name, "").strip()[:40] for name in ("first", "last")}
    found, errors = {"first": "", "last": ""}, {}
    for name, text in typed.items():
        if text:
            try:
                found[name] = dates.typed_day(text)
            except ValueError as error:
                errors[name] = str(error)
    if not errors and found["first"] and found["last"] and found["first"] > found["last"]:
        errors["last"] = "The last day lies before the first."
    if not errors:
        typed = {name: words.day(day) for name, day in found.items()}
    return Span(found["first"], found["last"], typed, errors)


def back(months: int, today: date) -> str:
    """The day so many months before today; the last of a shorter month."""
    place = today.year * 12 + today.month - 1 - months
    year, month = divmod(place, 12)
    for day in range(today.day, 27, -1):
        try:
            return date(year, month + 1, day).isoformat()
        except ValueError:
            continue
    return date(year, month + 1, min(today.day, 28)).isoformat()
