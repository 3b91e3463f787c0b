"""The admin's page of the audit: who read or changed what, newest first."""

from typing import Any

from flask import Blueprint, render_template, request
from sqlite_utils import Database

from webapp import addresses, dates
from webapp.accounts import allowed
from webapp.store import audit, people, phones
from webapp.store.db import get_db

blueprint = Blueprint("audit", __name__, url_prefix="/audit", template_folder="templates")


@blueprint.get("")
def page() -> str:
    """The newest rows, of one person or phone or about one thing where asked."""
    db = get_db()
    who, subject = request.args.get("who", "").strip(), request.args.get("about", "").strip()
    rows = audit.page(db, who, subject, addresses.whole(request.args.get("before", "")))
    names = _names(db)
    return render_template(
        "accounts/audit.html",
        rows=[_row(row, names) for row in rows],
        names=names,
        who=who,
        subject=subject,
        older=rows[-1]["id"] if len(rows) == audit.PAGE else None,
    )


def _names(db: Database) -> dict[str, str]:
    """Names of people, then of phones, by id."""
    known = {row["id"]: f"{row['name']} ({row['id']})" for row in people.everyone(db)}
    return known | {row["id"]: f"phone: {row['name']}" for row in phones.everyone(db)}


def _row(row: dict[str, Any], names: dict[str, str]) -> dict[str, Any]:
    door = allowed.door(row["act"])
    words = door.words if door is not None and door.words else row["act"]
    return row | {
        "at": dates.moment(row["at"]),
        "who_words": names.get(row["who"], row["who"]) or "nobody known",
        "words": words,
        "answer": "" if row["status"] < 400 else f"refused ({row['status']})",
    }
