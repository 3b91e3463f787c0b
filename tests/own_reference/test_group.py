"""One value an animal, what is not used with its reason, and what the values say of the register's rows."""

import csv
import io
from collections.abc import Callable

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.own_reference.practice import KIDNEY, Desk, arrive, exam, known_healthy, merged
from webapp.own_reference import group, told
from webapp.own_reference.group import Wanted
from webapp.store import behind, healthy

Enter = Callable[..., FlaskClient]
POLES = ("adrenal.left.caudal_pole_thickness", "adrenal.left.cranial_pole_thickness")
GLAND = "adrenal.left.maximum_thickness"
CATS = Wanted("cat", KIDNEY, None)


def told_of(app: Flask, db: Database, wanted: Wanted = CATS) -> list[tuple[str, str]]:
    """(value, why not used) of the group."""
    with app.app_context():
        behind.renew(db)
        return [(f"{float(one.value):g}", one.unused) for one in group.values(db, wanted)]


def test_of_an_animal_the_first_healthy_exam_counts_and_later_ones_say_so(app: Flask, db: Database) -> None:
    early = exam("40", patient="one", day="2026-01-05")
    known_healthy(db, exam("44", patient="one", day="2026-02-05"), early, exam("42", patient="two", day="2026-01-20"))
    assert told_of(app, db) == [("40", ""), ("42", ""), ("44", "again")]


def test_where_the_first_healthy_exam_lacks_the_quantity_the_next_one_counts(app: Flask, db: Database) -> None:
    other = exam("30", quantity="kidney.right.length", patient="one", day="2026-01-05")
    known_healthy(db, other, exam("44", patient="one", day="2026-02-05"))
    assert told_of(app, db) == [("44", "")]


def test_two_records_of_one_cat_are_one_animal(app: Flask, db: Database) -> None:
    known_healthy(db, exam("40", patient="one", day="2026-01-05"), exam("44", patient="two", day="2026-02-05"))
    merged(db, "two", "one")
    assert told_of(app, db) == [("40", ""), ("44", "again")]


def test_an_exam_that_nobody_marked_or_whose_mark_was_taken_back_is_not_there(app: Flask, db: Database) -> None:
    marked = exam("40")
    known_healthy(db, marked)
    arrive(db, exam("50"))
    assert told_of(app, db) == [("40", "")]
    last = healthy.history(db, str(marked.exam))[0].id
    healthy.say(db, f"{healthy.HEALTHY}{marked.exam}", {"healthy": False, "why": "x"}, "RD", last)
    assert told_of(app, db) == []


@pytest.mark.parametrize(
    ("facts", "why"),
    [({"age_months": 8}, "young"), ({"age_months": None}, "no_age"), ({"age_months": 12}, "")],
)
def test_adults_alone_count(app: Flask, db: Database, facts: dict[str, object], why: str) -> None:
    known_healthy(db, exam("40", **facts))
    assert told_of(app, db) == [("40", why)]


def test_the_other_side_and_the_other_species_are_other_groups(app: Flask, db: Database) -> None:
    known_healthy(db, exam("40"), exam("41", quantity="kidney.right.length"), exam("60", species="dog"))
    assert told_of(app, db) == [("40", "")]
    assert told_of(app, db, Wanted("cat", "kidney.right.length", None)) == [("41", "")]
    assert told_of(app, db, Wanted("dog", KIDNEY, None)) == [("60", "")]


def test_a_gland_with_one_pole_unread_is_listed_and_not_counted(app: Flask, db: Database) -> None:
    one = exam("3.1", quantity=POLES[0])
    both = exam("3.3", quantity=POLES[0])
    both.read(POLES[1], "3.6")
    known_healthy(db, one, both)
    assert told_of(app, db, Wanted("cat", GLAND, None)) == [("3.1", "at_least"), ("3.6", "")]


def test_a_later_strike_changes_the_value(app: Flask, db: Database) -> None:
    phone = exam("40", "50", closed=False)
    reading = phone.place.prev
    phone.closed()
    known_healthy(db, phone)
    assert told_of(app, db) == [("45", "")]
    phone.act("struck", {"about": KIDNEY, "why": "slip"}, of=[reading])
    arrive(db, phone)
    assert told_of(app, db) == [("40", "")]


def test_the_class_goes_by_its_ends_and_by_the_ideal_weight_where_asked(app: Flask, db: Database) -> None:
    """Source: Perez-Lopez 2021, cats up to 4 kg, over 4 to 8 kg, ideal weight (register)."""
    heavy = exam("3.0", quantity=GLAND, weight_kg="6", ideal_weight_kg="4")
    edge = exam("3.1", quantity=GLAND, weight_kg="4")
    over = exam("3.2", quantity=GLAND, weight_kg="4.01")
    unknown = exam("3.3", quantity=GLAND, weight_kg=None)
    known_healthy(db, heavy, edge, over, unknown)
    with app.app_context():
        classes = group.classes(db, "cat", GLAND)
    assert [one["words"] for one in classes] == ["up to 4 kg ideal weight", "over 4 to 8 kg ideal weight"]
    assert told_of(app, db, Wanted("cat", GLAND, classes[0])) == [("3", ""), ("3.1", ""), ("3.3", "no_weight")]
    assert told_of(app, db, Wanted("cat", GLAND, classes[1])) == [("3.2", ""), ("3.3", "no_weight")]
    assert len(told_of(app, db, Wanted("cat", GLAND, None))) == 4


def test_a_value_is_left_out_only_with_a_reason_stays_in_the_list_and_comes_back(db: Database, sign_in: Enter) -> None:
    phones = [exam(value) for value in ("40", "41", "60")]
    known_healthy(db, *phones)
    desk, far = Desk(sign_in()), str(phones[2].exam)
    assert "3 animals: too few" in desk.group()
    assert desk.leave_out(far, " ").status_code == 422
    assert desk.leave_out(far, "One kidney only, known since birth.").status_code == 302
    page = desk.group()
    assert "2 animals: too few" in page and "left out by a person" in page
    assert "left out: One kidney only, known since birth. (R. Dale" in page and "60.0 mm" in page
    assert desk.leave_out(far, "again", counted="yes").status_code == 409, "the page had not seen the last word"
    (newest, *_) = healthy.counted(db)[(far, KIDNEY)]
    assert desk.leave_out(far, "The other cat.", seen=newest.id, counted="yes").status_code == 302
    page = desk.group()
    assert "3 animals: too few" in page and "counts again: The other cat." in page


def test_a_left_out_animal_does_not_come_in_by_a_later_exam(app: Flask, db: Database) -> None:
    first = exam("60", patient="one", day="2026-01-05")
    known_healthy(db, first, exam("44", patient="one", day="2026-02-05"))
    healthy.say(db, healthy.of_value(str(first.exam), KIDNEY), {"counted": False, "why": "x"}, "RD", "")
    assert told_of(app, db) == [("60", "left_out"), ("44", "again")]


def test_twenty_cats_verify_the_registers_row_counted_by_hand(db: Database, sign_in: Enter, app: Flask) -> None:
    """Source: the register's row k-cat-len-tvp: 35 to 45 mm. 34.9 and 45.1 lie outside, 35 and 45 within."""
    values = ["34.9", "35", "45", "45.1", *["40"] * 16]
    known_healthy(db, *[exam(value, day=f"2026-03-{day:02d}") for day, value in enumerate(values, 1)])
    page = Desk(sign_in()).group()
    assert "20 animals: enough to verify a published interval" in page
    assert "2 of 20" in page and "Fits these animals: 2 of the first 20 lie outside." in page
    with app.app_context():
        rows = {one["row"]["id"]: one for one in told.published(db, CATS, group.values(db, CATS))}
    assert rows["k-cat-len-tvp"]["verified"] == {
        "answer": "verified", "enough": True, "outside": 2, "steps": [2],
        "words": "fits these animals: 2 of the first 20 lie outside",
    }  # fmt: skip


def test_nineteen_give_no_verdict_and_no_interval(db: Database, sign_in: Enter) -> None:
    known_healthy(db, *[exam("60") for _ in range(19)])
    page = Desk(sign_in()).group()
    assert "19 animals: too few" in page and "Not verified: 19 of the 20 animals that are needed." in page
    assert "Own limits" not in page and "Outliers are tested from 20 animals on." in page


def test_outliers_are_named_by_their_test_and_still_count(db: Database, sign_in: Enter) -> None:
    values = [f"{40 + number / 10}" for number in range(19)] + ["60"]
    known_healthy(db, *[exam(value) for value in values])
    page = Desk(sign_in()).group()
    assert page.count("far from the rest by Tukey's fences and Dixon's ratio") == 1
    assert "20 animals: enough" in page and 'class="named"' in page


def test_a_row_speaks_only_of_its_own_sex_breed_and_setting(app: Flask, db: Database) -> None:
    """A row for one breed is checked on that breed alone; one that holds only in its setting is not checked."""
    known_healthy(db, exam("38"), exam("41", breed="Ragdoll"))
    with app.app_context():
        for one in told.published(db, CATS, group.values(db, CATS)):
            row = one["row"]
            if row.get("breed"):
                assert one["n"] == (1 if row["breed"].lower() == "ragdoll" else 0)
            if row["use"] == "on_indication":
                assert one["verified"] is None and one["why_not"]


def test_the_file_holds_every_value_and_no_formula(db: Database, sign_in: Enter) -> None:
    known_healthy(db, exam("40", name="=cmd|' /C calc'!A0"), exam("41", age_months=3))
    text = sign_in().get(f"/own-reference/group.csv?species=cat&quantity={KIDNEY}").text
    rows = list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))
    assert [row["counts"] for row in rows] == ["yes", "no"]
    assert rows[0]["animal"].startswith("'=") and rows[1]["why_not"] == "under 12 months"


@pytest.mark.parametrize(
    "asked",
    [f"species=cow&quantity={KIDNEY}", "species=cat&quantity=x", f"species=cat&quantity={KIDNEY}&weights=body,1i,2i"],
)
def test_a_group_that_cannot_be_is_not_found(sign_in: Enter, asked: str) -> None:
    assert sign_in().get(f"/own-reference/group?{asked}").status_code == 404


def test_an_exam_given_to_another_animal_after_it_was_marked_does_not_count(db: Database, sign_in: Enter) -> None:
    """Health was said of the animal that it was thought to be."""
    phone = exam("40")
    arrive(db, phone)
    desk = Desk(sign_in())
    desk.mark(str(phone.exam), "Well.")
    assert "1 animal: too few" in desk.group()
    sides = (("from", phone.patient), ("value", "b"))
    names = {name: {"id": one, "name": "Mia", "species": "cat"} for name, one in sides}
    phone.act("set", {"about": "exam.patient", "why": "wrong animal", **names})
    arrive(db, phone)
    page = desk.group()
    assert "0 animals: too few" in page and "given to another animal after it was marked" in page
