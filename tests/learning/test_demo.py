"""The figures of the invented practice, against counts made by hand from demo/patients.json and by SQL of the journal.

By hand: 16 exams; the stomach partly seen in one (food in the stomach, gas), the LEFT ureter in one of one (gas), the
RIGHT adrenal gland in one (gas, deep chest); lengths 17 to 41 minutes; 4 exams signed, none again.
"""

from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from demo import seed
from tests.register.desk import Desk
from webapp.learning import figures, gathering, renewing, span
from webapp.store import behind

LENGTHS = [17, 21, 22, 23, 24, 24, 25, 25, 25, 25, 26, 26, 26, 31, 34, 41]
MISSED = "('partly', 'not_seen', 'not_examined')"


@pytest.fixture
def seeded(app: Flask, db: Database) -> Database:
    seed.seed(app, "2026-11-24")
    with app.app_context():
        behind.renew(db)
        assert renewing.renew(db) == 0
    return db


def counted(app: Flask, db: Database, **days: str) -> list[dict[str, Any]]:
    with app.app_context():
        made: list[dict[str, Any]] = gathering.listed(db, span.asked(days))["exams"]
        return made


def test_not_seen_by_structure_and_reason_is_what_was_recorded(app: Flask, seeded: Database) -> None:
    with app.app_context():
        rows = gathering.not_seen(counted(app, seeded), 5)
    assert [(row["structure"], row["missed"], row["exams"], row["share"], row["reasons"]) for row in rows] == [
        ("stomach", 1, 16, "6 %", [("food in the stomach", 1), ("gas", 1)]),
        ("ureter.left", 1, 1, "", [("gas", 1)]),
        ("adrenal.right", 1, 16, "6 %", [("deep chest", 1), ("gas", 1)]),
    ]
    said = seeded.query(
        "select json_extract(body, '$.about') as about, count(distinct exam) as n from entries where kind = 'seen' "
        f"and json_extract(body, '$.seen') in {MISSED} group by 1"
    )
    places = {row["about"]: row["n"] for row in said}
    assert places == {
        "stomach": 1, "ureter.left": 1, "adrenal.right": 1, "adrenal.right.vena_cava_beside": 1,
        "adrenal.right.cranial_pole": 1,
    }  # fmt: skip


def test_minutes_are_those_from_opening_to_closing(app: Flask, seeded: Database) -> None:
    made = figures.minutes(counted(app, seeded))
    assert (made["n"], made["median"], made["quarters"]) == (16, "25", ["23.25", "26"])
    assert (made["shortest"], made["longest"]) == (LENGTHS[0], LENGTHS[-1])
    assert made["classes"] == [("10 to 19", 1), ("20 to 29", 12), ("30 to 39", 2), ("40 to 49", 1)]
    lengths = seeded.query(
        "select cast(round(1440 * (julianday(max(json_extract(header, '$.at'))) "
        "- julianday(min(json_extract(header, '$.at'))))) as integer) as n "
        "from entries where kind in ('opened', 'closed') group by exam order by n"
    )
    assert [row["n"] for row in lengths] == LENGTHS


def test_flags_are_those_of_the_signed_exams_as_they_were_judged(app: Flask, seeded: Database) -> None:
    rows = figures.flags(counted(app, seeded), 5)
    by_limit = {row["limit"]: row["raised"] for row in rows if row["limit"]}
    told = seeded.query(
        "select json_extract(flag.value, '$.limit.id') as one, count(*) as n from reports, "
        "json_each(judgement_json, '$.flags') as flag where one is not null "
        "and json_extract(flag.value, '$.kind') in ('above_limit', 'below_limit', 'near_limit', 'alert') group by 1"
    )
    assert by_limit == {row["one"]: row["n"] for row in told}
    assert by_limit["melian2021_2p5_5_left"] == 1 and by_limit["k-cat-len-tvp"] == 2
    assert sum(row["left"] for row in rows) == 0, "nobody in the demo left a flag so"


def test_signed_exams_and_further_versions(app: Flask, seeded: Database) -> None:
    with app.app_context():
        made = gathering.versions(counted(app, seeded), 5)
    assert (made["signed"], made["again"], made["late"], made["rows"]) == (4, 0, 0, [])


def test_a_range_holds_both_its_days(app: Flask, seeded: Database) -> None:
    assert len(counted(app, seeded, first="1 Nov 2026")) == 12
    assert len(counted(app, seeded, first="16 Nov 2026", last="16.11.2026")) == 4
    assert [one["date"] for one in counted(app, seeded, last="2026-05-20")] == ["2026-02-12", "2026-04-20"]
    assert len(counted(app, seeded, first="17 Nov 2026", last="18 Nov 2026")) == 4


def test_the_page_says_them(seeded: Database, sign_in: Callable[..., FlaskClient]) -> None:
    page = Desk(sign_in()).page("/learning")
    for words in ("All days: <b>16</b> exams", "Median <b>25</b> minutes", "food in the stomach 1, gas 1",
                  "0 of 4 signed exams have a further version", "RIGHT adrenal"):  # fmt: skip
        assert words in page, words
