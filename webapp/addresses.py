"""Numbers and days in an address: read when they can be meant, kindly refused when not, whatever was typed there."""

from datetime import date, timedelta

from flask import Flask
from werkzeug.routing import IntegerConverter

MOST_DIGITS = 9  # more than anything here is counted, and fewer than the store or Python cannot read


class ShortNumber(IntegerConverter):
    """A version's or a page's number. A longer one names nothing, so it is no address here (404)."""

    regex = f"[0-9]{{1,{MOST_DIGITS}}}"


def init_app(app: Flask) -> None:
    """Before the rooms add their addresses."""
    app.url_map.converters["int"] = ShortNumber


def whole(text: str) -> int | None:
    """A whole number in a query, None for what is none."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= MOST_DIGITS else None


def beside(day: str, by: int) -> str | None:
    """The day so many days after this one ("2026-11-24"); None beyond the calendar's first and last."""
    try:
        return (date.fromisoformat(day) + timedelta(days=by)).isoformat()
    except OverflowError:
        return None
