"""The learned spread: kept up to date exam by exam, equal to a calculation from all readings, used and shown."""

import itertools
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pytest
from flask.testing import FlaskClient
from scipy import stats
from sqlite_utils import Database

from tests.builders import Phone
from tests.conftest import BEARER
from tests.register.desk import Desk
from webapp import rules
from webapp.learned import renewing
from webapp.store import behind, exams, journal, learned

Enter = Callable[..., FlaskClient]
KIDNEY = "kidney.left.length"
# Peak flow of 20 schoolchildren, four readings each, in l/min: Bland and Altman, BMJ 1996;313:744.
CHILDREN = [
    (190, 220, 200, 200), (220, 200, 240, 230), (260, 260, 240, 280), (210, 300, 280, 265), (270, 265, 280, 270),
    (280, 280, 270, 275), (260, 280, 280, 300), (275, 275, 275, 305), (280, 290, 300, 290), (320, 290, 300, 290),
    (300, 300, 310, 300), (270, 250, 330, 370), (320, 330, 330, 330), (335, 320, 335, 375), (350, 320, 340, 365),
    (360, 320, 350, 345), (330, 340, 380, 390), (335, 385, 360, 370), (400, 420, 425, 420), (430, 460, 480, 470),
]  # fmt: skip
NUMBER = itertools.count(1)


def exam(values: list[str], quantity: str = KIDNEY, author: str = "VS") -> Phone:
    """One phone's exam with these readings of one quantity."""
    number = next(NUMBER)
    phone = Phone(f"{number:032x}", author, f"exam-{number}", f"patient-{number}")
    phone.opened()
    for value in values:
        phone.read(quantity, value)
    return phone


def arrive(db: Database, *phones: Phone) -> None:
    for phone in phones:
        journal.append(db, phone.written, "phone")


def children() -> list[Phone]:
    """The children as kidneys: a tenth of the numbers, in mm."""
    return [exam([f"{flow // 10}.{flow % 10}" for flow in child]) for child in CHILDREN]


def test_the_children_of_bland_and_altman_against_an_analysis_of_variance(db: Database) -> None:
    """Source: BMJ 1996;313:744: residual mean square 460.52, s_w 21.5, repeatability 2.77 s_w."""
    arrive(db, *children())
    assert renewing.renew(db)
    pooled = learned.in_use(db)["kidney.*.length"]["pooled"]
    readings = np.array(CHILDREN, dtype=float)
    residual = float(((readings - readings.mean(axis=1, keepdims=True)) ** 2).sum() / (readings.size - len(readings)))
    assert residual == pytest.approx(460.52, abs=0.005)
    z = stats.norm.ppf(0.975)
    assert float(pooled["sd"]) * 10 == pytest.approx(np.sqrt(residual), abs=6e-4)
    assert float(pooled["repeatability"]) * 10 == pytest.approx(z * np.sqrt(2 * residual), abs=3e-3)
    assert (pooled["df"], pooled["groups"], pooled["enough"]) == (60, 20, True)
    assert f"{float(pooled['sd']) * 10:.1f}" == "21.5"


def test_learning_step_by_step_gives_what_learning_at_once_gives(db: Database) -> None:
    phones = children()
    for phone in phones:
        arrive(db, phone)
        assert renewing.renew(db)
    entries = [[rules.open_entry(envelope) for envelope in phone.written] for phone in phones]
    assert learned.in_use(db) == rules.call({"do": "learn", "exams": entries})["learned"]


def test_nothing_is_done_while_no_new_reading_came(db: Database) -> None:
    arrive(db, exam(["40", "41"]))
    assert renewing.renew(db)
    assert not renewing.renew(db)
    note = Phone("ee" * 16)
    note.act("noted", {"about": "exam", "text": "Slept through it."})
    arrive(db, note)
    assert not renewing.renew(db)


def test_a_struck_reading_is_unlearned(db: Database) -> None:
    phone = exam(["40", "44"])
    arrive(db, phone)
    renewing.renew(db)
    assert learned.in_use(db)["kidney.*.length"]["pooled"]["df"] == 1
    phone.act("struck", {"about": KIDNEY, "why": "slip"}, of=[rules.open_entry(phone.written[-1])["id"]])
    arrive(db, phone)
    assert renewing.renew(db)
    assert learned.in_use(db) == {}


def test_more_entries_than_fit_in_one_go_are_all_learned(db: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(renewing, "MOST", 7)
    arrive(db, *[exam(["40", "41", "42"]) for _ in range(6)])
    renewing.renew(db)
    assert learned.in_use(db)["kidney.*.length"]["pooled"]["df"] == 12
    assert not renewing.renew(db)


def test_a_learned_spread_is_used_for_exams_that_wait_and_the_list_agrees(db: Database) -> None:
    """A single reading has no spread of its own: only what was learned makes it too close to call."""
    waiting = exam(["4.3"], "jejunum.wall_thickness")
    arrive(db, waiting)
    assert call_of(db, waiting) == "spread not known"
    arrive(db, *[exam(["3.0", "3.5"], "jejunum.wall_thickness") for _ in range(20)])
    renewing.renew(db)
    assert call_of(db, waiting) == "too close to call"
    behind.renew(db)
    assert exams.differences(db) == []


def call_of(db: Database, phone: Phone) -> str:
    judged = exams.fold(db, str(phone.exam)).judgement
    return str(next(line for line in (*judged["flags"], *judged["judged"]) if line["limit"])["call"])


def test_a_practice_that_asks_for_fewer_readings_gets_its_spread_at_once(db: Database, sign_in: Enter) -> None:
    arrive(db, *[exam(["40", "41"]) for _ in range(12)])
    desk = Desk(sign_in())
    assert "not enough readings yet: 12 of 20" in desk.page("/spread")
    assert desk.threshold("learned_spread.least_df", "12").status_code == 302
    page = desk.page("/spread")
    assert "not enough" not in page and "From 12 degrees of freedom on" in page


def test_the_page_names_observers_with_their_own_spread(db: Database, sign_in: Enter) -> None:
    arrive(db, *[exam(["40", "41"]) for _ in range(20)], *[exam(["50", "53"], author="RD") for _ in range(3)])
    page = Desk(sign_in()).page("/spread")
    assert "LEFT and RIGHT kidney, length" in page
    for words in (
        "all together",
        "V. Stone",
        "R. Dale",
        "0.71 mm",
        "2.12 mm",
        "1.96 mm",
        "not enough readings yet: 3 of 20",
    ):
        assert words in page, words


def test_an_empty_practice_says_so(sign_in: Enter) -> None:
    assert "Nothing was read twice from new images yet." in Desk(sign_in()).page("/spread")


def test_a_phone_is_given_what_was_learned(db: Database, client: FlaskClient) -> None:
    arrive(db, *[exam(["40", "41"]) for _ in range(20)])
    given = client.get("/api/practice", headers=BEARER).json
    assert given is not None
    assert given["learned"]["kidney.*.length"]["observers"]["VS"]["enough"] is True


def test_what_comes_after_the_first_look_of_a_day_counts_from_the_next(
    db: Database, client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each reading moved the spread, and with it every phone's rules and hundreds of exams, all day long."""
    arrive(db, *[exam(["40", "41"]) for _ in range(20)])
    first = given(client)
    arrive(db, exam(["40", "43"]))
    assert given(client) == first
    day = timedelta(days=1)
    monkeypatch.setattr(renewing, "datetime", type("Later", (datetime,), {"now": lambda tz: datetime.now(tz) + day}))
    assert given(client)["kidney.*.length"]["pooled"]["df"] == first["kidney.*.length"]["pooled"]["df"] + 1


def given(client: FlaskClient) -> dict[str, Any]:
    answer = client.get("/api/practice", headers=BEARER).json
    assert answer is not None
    return dict(answer["learned"])


def test_a_phone_does_not_wait_for_the_exams_that_wait(
    db: Database, client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With 200 exams not signed a pull took seconds, and nobody else could write meanwhile."""
    waiting = [exam(["4.3"], "jejunum.wall_thickness") for _ in range(5)]
    arrive(db, *waiting, *[exam(["3.0", "3.5"], "jejunum.wall_thickness") for _ in range(20)])
    judged: list[str] = []
    whole = exams.projection
    monkeypatch.setattr(exams, "projection", lambda base, name: judged.append(name) or whole(base, name))
    assert given(client)["jejunum.wall_thickness"]["pooled"]["enough"] is True
    assert judged == []
    assert behind.renew(db) == 25
    assert exams.differences(db) == []


def test_an_exam_that_is_judged_while_the_spread_changes_is_judged_once_more(
    db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It has no row yet, so that it is not among those that are noted for having one."""
    arrive(db, *[exam(["3.0", "3.5"], "jejunum.wall_thickness") for _ in range(20)])
    waiting = exam(["4.3"], "jejunum.wall_thickness")
    journal.append(db, waiting.written, "phone", lists_later=True)
    whole = exams.projection
    judged: list[str] = []

    def meanwhile(base: Database, name: str) -> dict[str, Any] | None:
        row = whole(base, name)
        judged.append(name)
        if len(judged) == 1:
            base.rollback()
            renewing.renew(base)
            base.execute("begin")
        return row

    monkeypatch.setattr(exams, "projection", meanwhile)
    behind.renew(db)
    assert (judged[0], judged.count(judged[0]), len(judged)) == (waiting.exam, 2, 22)
    assert exams.differences(db) == []
