"""The desk's page about the spread of repeat readings."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from flask import Blueprint, render_template
from sqlite_utils import Database

from webapp import rules
from webapp.accounts import person_here
from webapp.learned import renewing
from webapp.review import words
from webapp.store import learned, overlays, people, roles
from webapp.store.db import get_db

blueprint = Blueprint("learned", __name__, template_folder="templates")


@blueprint.get("/spread")
def page() -> str:
    """Per quantity: who read how often, how far repeat readings lie apart, and whether that is used yet."""
    db = get_db()
    person = person_here() or {}
    # A person's spread is theirs to learn from, and no table of who is best: others' stand there for an admin alone.
    sees_all = roles.ADMIN in roles.held(person.get("role", ""))
    renewing.renew(db)
    known = learned.newest(db)
    thresholds = rules.call({"do": "register"}, overlays.in_force(db))["register"]["thresholds"]
    least = next(row for row in thresholds if row["id"] == "learned_spread")
    return render_template(
        "learned/spread.html",
        rows=listed(db, known.learned if known else {}, person.get("id"), sees_all),
        sees_all=sees_all,
        made_at=words.moment(known.made_at) if known else None,
        least=least["values"][0]["value"],
    )


def listed(
    db: Database, made: dict[str, Any], reader: str | None = None, sees_all: bool = True
) -> list[dict[str, Any]]:
    """One row per quantity in the catalogue's order: label, the line of all together, one line per observer in the
    order of their names. The lines of `reader`, a person's id, are marked as own; without `sees_all` they are the
    only ones of a person."""
    names = {person["id"]: person["name"] for person in people.everyone(db)}
    order = list(words.quantities())
    rows = []
    for name in sorted(made, key=lambda name: order.index(name.replace(".*.", ".left."))):
        one = made[name]
        lines = [_line("all together", one["pooled"], one["unit"])]
        seen = {who: row for who, row in one["observers"].items() if sees_all or who == reader}
        for who, row in sorted(seen.items(), key=lambda item: (names.get(item[0], item[0]).casefold(), item[0])):
            lines.append(_line(names.get(who, who), row, one["unit"]) | {"own": who == reader})
        rows.append({"label": _label(name), "lines": lines})
    return rows


def _line(who: str, row: dict[str, Any], unit: str) -> dict[str, Any]:
    amounts = {name: words.amount(_two_places(row[name]), unit) for name in ("sd", "repeatability")}
    return row | amounts | {"who": who}


def _label(pattern: str) -> str:
    label = words.label(pattern.replace(".*.", ".left."))
    return label.replace("LEFT", "LEFT and RIGHT") if ".*." in pattern else label


def _two_places(text: str) -> str:
    """Rounded half up, as all that is shown."""
    return str(Decimal(text).quantize(Decimal("0.01"), ROUND_HALF_UP))
