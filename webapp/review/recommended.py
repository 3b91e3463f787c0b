"""What an addendum does to the recommendations of a signed report: adds some, settles or drops others with a reason.

A row is never taken out of the list: its place is its name, in calendars too. `since` is the version that brought or
ended it.
"""

from collections.abc import Mapping, Sequence
from typing import Any

Row = dict[str, Any]

STANDS, SETTLED, DROPPED = "", "settled", "dropped"
STATES = {
    STANDS: "stands",
    SETTLED: "settled: done, or answered otherwise",
    DROPPED: "dropped: no longer recommended",
}


class Ended(Exception):
    """A recommendation that an addendum would end stands no longer; the message says which."""


def changed(rows: Sequence[Row], added: Sequence[Row], ended: Mapping[int, tuple[str, str]], version: int) -> list[Row]:
    """The list as version `version` has it. `ended` = {place from 1: (SETTLED or DROPPED, why)}.

    Raises Ended for a place that holds no recommendation, or one that was ended before.
    """
    for place in ended:
        if not 1 <= place <= len(rows) or rows[place - 1].get("state"):
            raise Ended(f"Recommendation {place} was ended meanwhile: look at what to do as it is now.")
    kept = [dict(row) for row in rows]
    for place, (state, why) in ended.items():
        kept[place - 1] |= {"state": state, "why": why, "since": version}
    return kept + [dict(row) | {"since": version} for row in added]


def standing(rows: Sequence[Row]) -> list[Row]:
    """Those that nobody has settled or dropped."""
    return [row for row in rows if not row.get("state")]
