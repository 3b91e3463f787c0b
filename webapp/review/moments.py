"""Moments as people type them on the desk."""

from datetime import datetime

from webapp import dates
from webapp.review import words

ADVICE = "Write the time as 10:41, or with its day as 24 Nov 2026 10:41."


def typed(text: str, now: datetime) -> str:
    """A moment as typed ("10:41" is today's) as ISO 8601 with the offset of `now`, to the minute.

    Raises ValueError with advice where it cannot be read or is still to come.
    """
    day, _, clock = text.strip().rpartition(" ")
    try:
        hour = datetime.strptime(clock, "%H:%M").time()
    except ValueError:
        raise ValueError(ADVICE) from None
    date = datetime.fromisoformat(dates.typed_day(day.rstrip(" ,"))).date() if day else now.date()
    moment = datetime.combine(date, hour, now.tzinfo)
    if moment > now:
        said = words.moment(moment.isoformat())
        raise ValueError(f"{said} is still to come: give the day as well if it was earlier.")
    return moment.isoformat(timespec="minutes")


def shown(moment: datetime) -> str:
    """A moment as a form offers it: 24 Nov 2026 10:41."""
    return words.moment(moment.isoformat())
