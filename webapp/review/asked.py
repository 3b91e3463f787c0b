"""What the queue is asked for: words, filters, page; read from the address, so that a link holds all of it."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from webapp import addresses, dates
from webapp.review import words
from webapp.store import reasons, search

NAMES = ("q", "state", "reason", "species", "person", "since", "until")


class Asked(NamedTuple):
    """Each filter as text, "" where nothing is asked; days as "2026-11-24". `typed` holds the days as they were
    typed, `wrong` what could not be read, by field."""

    q: str = ""
    state: str = ""
    reason: str = ""
    species: str = ""
    person: str = ""
    since: str = ""
    until: str = ""
    page: int = 1
    typed: Mapping[str, str] = {}
    wrong: Mapping[str, str] = {}

    @property
    def query(self) -> search.Query | None:
        """The words as a query; None where nothing can be searched for."""
        return search.parse(self.q)

    @property
    def anything(self) -> bool:
        """Whether a word or a filter narrows the list."""
        return any(getattr(self, name) for name in NAMES)

    def address(self, **changes: Any) -> dict[str, Any]:
        """The arguments of a link to the same list with these changes; the first page unless it says another."""
        held: dict[str, Any] = {name: getattr(self, name) for name in NAMES} | {"page": None} | changes
        return {name: value for name, value in held.items() if value}


def read(given: Mapping[str, str]) -> Asked:
    """What an address asks for. What it cannot mean is left out, and told where a person typed it."""
    told: dict[str, str] = {}
    days: dict[str, str] = {}
    wrong: dict[str, str] = {}
    for field in ("since", "until"):
        told[field] = given.get(field, "").strip()[:40]
        try:
            days[field] = dates.typed_day(told[field]) if told[field] else ""
        except ValueError as error:
            days[field], wrong[field] = "", str(error)
        else:
            told[field] = words.day(days[field])
    if not wrong and days["since"] and days["until"] and days["since"] > days["until"]:
        wrong["until"] = "This day lies before the other one."
    reason = given.get("reason", "")
    return Asked(
        q=" ".join(given.get("q", "").split())[:search.MOST_LETTERS],
        state=given.get("state", "")[:40],
        reason=reason if reason in reasons.KINDS else "",
        species=given.get("species", "")[:40],
        person=given.get("person", "")[:40],
        since=days["since"],
        until=days["until"],
        page=addresses.whole(given.get("page", "")) or 1,
        typed=told,
        wrong=wrong,
    )


def sentence(asked: Asked, states: Mapping[str, str], people: Mapping[str, str]) -> str:
    """What was looked for, in words: 'words “nodule”; signed; dog; examined by V. Stone; from 1 Nov 2026'."""
    parts = [
        f"words “{asked.q}”" if asked.q else "",
        states.get(asked.state, asked.state).lower(),
        words.REASONS[asked.reason][1] if asked.reason else "",
        asked.species,
        f"examined by {people.get(asked.person, asked.person)}" if asked.person else "",
        f"from {words.day(asked.since)}" if asked.since else "",
        f"until {words.day(asked.until)}" if asked.until else "",
    ]
    return "; ".join(part for part in parts if part)
