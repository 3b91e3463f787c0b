"""A person's own ways at the table: the order of structures and own short words; no row is ever taken out."""

import json
from typing import Any, TypedDict

from sqlite_utils import Database

from webapp.store.db import write


class Ways(TypedDict):
    """`order`: ids of structures; those not named follow in the usual order. `phrases`: short word to words."""

    order: list[str]
    phrases: dict[str, str]


NONE: Ways = {"order": [], "phrases": {}}


def of(db: Database, person: str) -> Ways:
    """The person's ways now."""
    row = next(db.query("select ways from own_ways where person = ? order by id desc limit 1", [person]), None)
    made: Ways = json.loads(row["ways"]) if row else NONE
    return made


def everyones(db: Database) -> dict[str, Ways]:
    """The ways of all who have any."""
    query = "select person, ways from own_ways where id in (select max(id) from own_ways group by person)"
    return {row["person"]: json.loads(row["ways"]) for row in db.query(query)}


def keep(db: Database, person: str, made: Ways, at: str) -> bool:
    """Keep the person's ways from now on; False where nothing changed."""
    with write(db):
        if of(db, person) == made:
            return False
        row: dict[str, Any] = {"person": person, "at": at, "ways": json.dumps(made, ensure_ascii=False, sort_keys=True)}
        db.table("own_ways").insert(row)
        return True
