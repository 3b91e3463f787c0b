"""The figures of a range of days, gathered from the lists: what the page shows and the files hold."""

import json
from typing import Any

from sqlite_utils import Database

from webapp import clock, rules
from webapp.core import grades, wording
from webapp.learned import routes as learned_routes
from webapp.learning import figures
from webapp.learning.span import Span
from webapp.review import words
from webapp.review.forms import ACKNOWLEDGEMENTS
from webapp.store import exams, overlays, recommendations

Json = dict[str, Any]

FINISHED = (exams.TO_REVIEW, exams.SIGNED, exams.SIGNED_LATER)
KINDS = dict(grades.KINDS)
CONTRADICTION = "records that do not fit together"


def least(db: Database) -> int:
    """From how many on a share is said."""
    listed = rules.call({"do": "register"}, overlays.in_force(db))["register"]["thresholds"]
    return int(next(row for row in listed if row["id"] == "learning")["values"][0]["value"])


def listed(db: Database, span: Span) -> Json:
    """{"exams" [what each finished exam adds, with its id, animal and state], "open", "not_read"}: the exams that the
    queue lists. Training and measuring twice stand on no list, so they are in no figure."""
    query = (
        "select exams.exam, exams.date, exams.state, exams.animal, learning_exams.facts from exams "
        "left join learning_exams on learning_exams.exam = exams.exam order by exams.date, exams.exam"
    )
    counted: list[Json] = []
    open_, not_read = 0, 0
    for row in db.query(query):
        if not span.holds(row["date"]):
            continue
        open_ += row["state"] == exams.OPEN
        not_read += row["state"] == exams.NOT_READ
        if row["state"] in FINISHED and row["facts"]:
            about = {name: row[name] for name in ("exam", "date", "state")}
            counted.append(json.loads(row["facts"]) | about | {"name": json.loads(row["animal"]).get("name")})
    return {"exams": counted, "open": open_, "not_read": not_read}


def spread(db: Database, span: Span, reader: str, sees_all: bool) -> Json:
    """{"rows", "others"}: the spread of repeat readings of the range, by person in the order of names; who does not
    run the practice sees all together and the own, and how many others there are."""
    query = (
        "select learned_exams.sums, learning_exams.date from learned_exams "
        "left join learning_exams on learning_exams.exam = learned_exams.exam where learned_exams.sums != '{}'"
    )
    parts = [json.loads(row["sums"]) for row in db.query(query) if span.holds(row["date"])]
    made = rules.call({"do": "learn", "sums": parts}, overlays.in_force(db))["learned"]
    others = {who for one in made.values() for who in one["observers"]} - {reader}
    return {"rows": learned_routes.listed(db, made, reader, sees_all), "others": 0 if sees_all else len(others)}


def not_seen(counted: list[Json], least_: int) -> list[Json]:
    """Not seen by structure and reason, in the catalogue's order, in words."""
    rows = figures.not_seen(counted, list(words.structures()), least_)
    return [
        row
        | {"label": words.label(row["structure"])}
        | {"reasons": [(words.reason(reason), count) for reason, count in row["reasons"]]}
        for row in rows
    ]


def flags(counted: list[Json], least_: int, reads_exams: bool) -> list[Json]:
    """What was flagged and left so, in words. A reason in somebody's own words is shown to who may read exams."""
    made = []
    for row in figures.flags(counted, least_):
        reasons: dict[str, int] = {}
        for reason, count in row["reasons"]:
            said = reason if reads_exams or reason in ACKNOWLEDGEMENTS else figures.OWN_WORDS
            reasons[said] = reasons.get(said, 0) + count
        made.append(row | {"label": _flag_words(row), "reasons": list(reasons.items())})
    return made


def _flag_words(row: Json) -> Json:
    """{"what", "limit", "source"}."""
    if row["contradiction"]:
        return {"what": CONTRADICTION, "limit": "", "source": ""}
    kinds = "; ".join(KINDS.get(kind, words.plain(kind)) for kind in row["kinds"])
    if not row["limit"]:
        return {"what": kinds, "limit": "", "source": ""}
    limit = row["words"]
    bounds = wording.bound_words(limit, limit["unit"] or "1")
    abouts = ", ".join(words.label(about) for about in row["about"])
    said = {"what": f"{abouts}: {kinds}", "limit": f"{bounds} ({limit['class_words']})"}
    return said | {"source": limit["source"] or ""}


def versions(counted: list[Json], least_: int) -> Json:
    """Further versions of signed reports, each with its reason, the newest first."""
    added = [
        {"exam": one["exam"], "name": one["name"] or "an animal without a name", "date": words.day(one["date"])}
        | {"status": row["status"], "reason": row["reason"] or "", "issued_at": row["issued_at"]}
        | {"at": words.moment(row["issued_at"])}
        for one in counted
        for row in one["versions"][1:]
    ]
    late = sum(one["state"] == exams.SIGNED_LATER for one in counted)
    rows = sorted(added, key=lambda row: str(row["issued_at"]), reverse=True)
    return figures.versions(counted, least_) | {"rows": rows, "late": late}


def rechecks(db: Database, span: Span, least_: int) -> Json:
    """Recommendations with a day in the range, and whether a later exam came to the part."""
    today = clock.now().astimezone().date().isoformat()
    rows = [row for row in recommendations.due(db, span.first or None, span.last or None) if row["due"]]
    return figures.rechecks(rows, today, least_) | {
        "settled": sum(bool(row["state"]) for row in rows),
        "rows": [
            {"exam": row["exam"], "name": row["name"] or "an animal without a name", "due": words.day(row["due"])}
            | {"text": row["text"], "part": row["part_label"] or "", "who": row["who"] or "", "how": _how(row, today)}
            for row in rows
        ]
    }


def _how(row: Json, today: str) -> str:
    if row["state"]:
        return f"{row['state']}: {row['why']}"
    if row["done"] is None:
        return "names no part: nobody can tell"
    if row["later"]:
        last = next((one for one in reversed(row["later"]) if one["how"] in recommendations.DONE), row["later"][-1])
        return f"{last['how']} on {words.day(last['date'])}"
    if row["missed"]:
        return f"exam came on {words.day(row['missed'][-1]['date'])}, this part not looked at"
    return "no later exam came to it" if row["due"] <= today else "its day is ahead"
