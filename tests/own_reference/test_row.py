"""Own limits from 120 healthy animals, against scipy and numpy, and how they become a row of the register."""

import random
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from flask import Flask
from flask.testing import FlaskClient
from scipy import stats
from sqlite_utils import Database

from tests.conftest import PASSWORD
from tests.own_reference.practice import KIDNEY, Desk, exam, known_healthy
from tests.review.desk import Vet
from webapp.own_reference import group, making, told
from webapp.own_reference.group import Wanted
from webapp.store import exams, overlays, people

Enter = Callable[..., FlaskClient]
CATS = Wanted("cat", KIDNEY, None)
TENTHS = [round(400 + 22 * stats.norm.ppf((place + 0.5) / 120)) for place in range(120)]


@pytest.fixture
def many(db: Database) -> Database:
    """120 healthy cats, 60 of either sex, in an order that has nothing to do with their size."""
    values = [f"{tenths // 10}.{tenths % 10}" for tenths in TENTHS]
    random.Random(7).shuffle(values)
    sexes = ("female", "male")
    known_healthy(db, *[exam(value, sex=sexes[place % 2]) for place, value in enumerate(values)])
    return db


def own_rows(db: Database) -> list[dict[str, Any]]:
    return (overlays.in_force(db) or {"rows": []})["rows"]


def make(desk: Desk, **typed: str) -> Any:
    page = desk.address()
    return desk.send(page, desk.address(what="row"), **typed)


def test_the_limits_are_the_percentiles_and_their_intervals_hold_ninety_of_hundred(app: Flask, many: Database) -> None:
    with app.app_context():
        made = told.own(group.values(many, CATS))
    assert made["n"] == 120
    ordered = sorted(tenths / 10 for tenths in TENTHS)
    low, high = np.percentile(ordered, [2.5, 97.5], method="weibull")
    assert float(made["interval"]["lower"]) == pytest.approx(low, abs=1e-9)
    assert float(made["interval"]["upper"]) == pytest.approx(high, abs=1e-9)
    # Order statistics: the true percentile lies between ranks 1 and 7 with this chance (published: ranks 1 and 7).
    assert stats.binom.cdf(6, 120, 0.025) - stats.binom.cdf(0, 120, 0.025) == pytest.approx(0.9205, abs=5e-5)
    assert [float(edge) for edge in made["interval"]["lower_between"]] == [ordered[0], ordered[6]]
    assert [float(edge) for edge in made["interval"]["upper_between"]] == [ordered[113], ordered[119]]


def test_an_admin_makes_a_row_that_says_population_n_method_dates_and_how_known(many: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    page = desk.group()
    assert "Own limits, 120 animals" in page
    assert make(desk).status_code == 422, "what the row may do is chosen, not preset"
    assert own_rows(many) == []
    answer = make(desk, use="limit")
    assert answer.status_code == 302, answer.text
    (row,) = own_rows(many)
    assert (row["quantity"], row["species"], row["n"]) == (KIDNEY, "cat", 120)
    assert (row["use"], row["known"]) == ("limit", "own data")
    assert (row["plane"], row["weight_kg"], row["age_months"]) == ("long_axis", None, {"min": 12, "max": None})
    assert "60 female; 60 male; 120 European Shorthair" in row["population"] and "12 months" in row["population"]
    assert row["source"] == "own:own data, exams 2 Mar 2026 to 2 Mar 2026, marked as healthy by R. Dale"
    assert "by ranks" in row["statistic"] and "EP28-A3c" in row["statistic"]
    low, high = np.percentile(sorted(tenths / 10 for tenths in TENTHS), [2.5, 97.5], method="weibull")
    assert (float(row["lower"]), float(row["upper"])) == (pytest.approx(low, abs=0.051), pytest.approx(high, abs=0.051))
    assert "90 % intervals: lower limit" in row["note"]
    register = desk.page("/limits?text=own+data")
    assert "own data: healthy animals of this practice" in register and "of this practice from 12 months on" in register


def test_the_row_judges_from_then_on_and_its_change_can_be_undone_as_any(many: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    make(desk, use="limit")
    known_healthy(many, exam("52"))
    large = next(row["exam"] for row in many.query("select exam from exams order by exam desc"))
    flag = next(line for line in exams.fold(many, large).judgement["flags"] if line["about"] == KIDNEY)
    assert (flag["limit"]["id"], flag["limit"]["known"], flag["kind"]) == ("own1", "own data", "above_limit")
    assert "own row added" in desk.page("/limits/history")
    Vet(desk.browser, large).sign()
    plain = desk.page(f"/report/{large}/1.txt")
    assert "own data, exams 2 Mar 2026 to 2 Mar 2026, marked as healthy by R. Dale" in " ".join(plain.split())


def test_made_again_with_more_animals_it_takes_the_place_of_the_former(many: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    make(desk, use="limit")
    known_healthy(many, exam("41"))
    assert make(desk, use="reference").status_code == 302
    (row,) = own_rows(many)
    assert (row["id"], row["n"], row["use"]) == ("own2", 121, "reference")
    assert [change.overlay["change"] for change in overlays.history(many)] == [2, 1], "both versions stay"


def test_values_that_came_meanwhile_are_shown_before_anything_is_made(many: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    browser = desk.browser
    page = browser.get(desk.address()).text
    form = page.split('class="row-form"', 1)[1]
    fields = {
        name: form.split(f'name="{name}"', 1)[1].split('value="', 1)[1].split('"', 1)[0]
        for name in ("csrf_token", "basis")
    }
    known_healthy(many, exam("41"))
    answer = browser.post(desk.address(what="row"), data=fields | {"seen": "", "use": "limit"})
    assert answer.status_code == 409 and "121 animals" in answer.text
    assert own_rows(many) == []


def test_only_an_admin_makes_it_a_row(many: Database, sign_in: Enter) -> None:
    people.add(many, "RV", "R. Vale", "reviewer", PASSWORD)
    browser = sign_in("RV")
    page = browser.get(Desk(browser).address()).text
    assert "needs the role admin" in page and "row-form" not in page
    token = page.split('name="csrf_token" value="', 1)[1].split('"', 1)[0]
    answer = browser.post(Desk(browser).address(what="row"), data={"csrf_token": token, "use": "limit", "basis": "x"})
    assert answer.status_code == 403 and own_rows(many) == []


def test_too_few_make_no_row_even_where_someone_asks(db: Database, sign_in: Enter) -> None:
    known_healthy(db, *[exam("40") for _ in range(20)])
    desk = Desk(sign_in())
    page = desk.browser.get(desk.address()).text
    assert "Own limits" not in page
    token = page.split('name="csrf_token" value="', 1)[1].split('"', 1)[0]
    with desk.browser.application.app_context():
        basis = making.basis(group.values(db, CATS))
    fields = {"csrf_token": token, "seen": "", "basis": basis, "use": "limit"}
    answer = desk.browser.post(desk.address(what="row"), data=fields)
    assert answer.status_code == 422 and "too few animals" in answer.text
    assert own_rows(db) == []
