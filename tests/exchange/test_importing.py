"""Animals and visits from a file: whole or not at all, every fault named with its row and column, never twice."""

import time
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlite_utils import Database

from webapp.animals import find, record
from webapp.exchange import columns, importing
from webapp.exchange.ready import Choices
from webapp.store import animals, exams
from webapp.store.db import open_database
from webapp.visits import plan as visit_plan

Enter = Callable[..., FlaskClient]
CHOICES = Choices(columns.ANIMALS, "Oldbook")
VISITS = Choices(columns.VISITS, "Oldbook")
HEADING = "number,name,species,breed,sex,born,weight,microchip\n"
TWO = HEADING + "17,Max,dog,Beagle,male neutered,2019-03-04,12.4,276098106123456\n18,Käthe,cat,,F,2020-05-01,4.1,\n"


def take(db: Database, text: str, choices: Choices = CHOICES) -> importing.Taken:
    return importing.take(db, text.encode(), choices, "RD")


def entries(db: Database) -> int:
    return int(next(db.query("select count(*) as n from entries"))["n"])


def faults(db: Database, text: str, choices: Choices = CHOICES) -> list[tuple[int, str, str]]:
    return [(one.line, one.column, one.text) for one in importing.plan(db, text.encode(), choices).problems]


def test_rows_become_records_made_of_ordinary_entries(db: Database) -> None:
    taken = take(db, TWO)
    assert (taken.new, taken.changed, taken.same) == (2, 0, 0) and taken.entries == entries(db)
    told = {row["name"]: row["record"] for row in find.everything(db)}
    assert told["Max"]["numbers"] == [{"label": "Oldbook", "value": "17"}]
    assert (told["Max"]["sex"], told["Max"]["neutered"], told["Max"]["weight_kg"]) == ("male", True, "12.4")
    assert told["Käthe"]["species"] == "cat" and told["Käthe"].get("neutered") is None
    kinds = {row["kind"] for row in db.query("select kind from entries")}
    assert kinds == {"set"} and exams.differences(db) == []


def test_the_same_file_again_makes_nothing_and_a_changed_one_only_what_changed(db: Database) -> None:
    take(db, TWO)
    before = entries(db)
    again = take(db, TWO)
    assert (again.new, again.changed, again.same, again.entries) == (0, 0, 2, 0) and entries(db) == before
    changed = take(db, TWO.replace("12.4", "12.9").replace("Beagle", ""))
    assert (changed.new, changed.changed, changed.same, changed.entries) == (0, 1, 1, 1)
    told = find.search(db, "Max").rows[0]["record"]
    assert (told["weight_kg"], told["breed"], told["forks"]) == ("12.9", "Beagle", []), "an empty cell clears nothing"
    plan = importing.plan(db, TWO.encode(), CHOICES)
    told = [change.words for change in plan.changes if change.words]
    assert told == [["Weight: 12.9 kg (record) → 12.4 kg (record)"]]


def test_the_number_finds_a_merged_record_and_another_systems_number_does_not(db: Database) -> None:
    take(db, TWO)
    rows = find.everything(db)
    body = {"about": "patient", "from": {"id": rows[0]["patient"]}, "into": {"id": rows[1]["patient"]}, "why": "x"}
    from webapp.store import desk

    desk.act(db, "merged", body, author="RD", patient=rows[1]["patient"])
    assert animals.record(db, rows[0]["patient"])["merged_into"]  # type: ignore[index]
    assert take(db, TWO.splitlines()[0] + "\n17,Max,dog,,,,,\n").new == 0
    assert take(db, TWO, Choices(columns.ANIMALS, "Newbook")).new == 2


@pytest.mark.parametrize("row, wanted", [
    ("19,,dog,,,,,", (3, "name", "is empty")),
    ("19,Tom,horse,,,,,", (3, "species", "neither dog nor cat")),
    ("19,Tom,dog,,third,,,", (3, "sex", "is no sex known here")),
    ("19,Tom,dog,,,2019-02-30,,", (3, "born", "no such day")),
    ("19,Tom,dog,,,2119-02-03,,", (3, "born", "still to come")),
    ("19,Tom,cat,,,,400,", (3, "weight", "400 kg for a cat?")),
    ("19,Tom,cat,,,,four,", (3, "weight", "no number")),
    ("19,Tom,dog,,,,", (3, "", "7 cells, the heading has 8")),
    ("17,Tom,dog,,,,,", (3, "number", "17 stands in line 2 already")),
])
def test_a_wrong_cell_is_named_with_row_and_column_and_nothing_is_taken(
    db: Database, row: str, wanted: tuple[int, str, str]
) -> None:
    text = HEADING + f"17,Max,dog,,,,,\n{row}\n"
    (line, column, said), *rest = faults(db, text)
    assert (line, column) == wanted[:2] and wanted[2] in said and rest == []
    with pytest.raises(importing.Refused, match="nothing was"):
        take(db, text)
    assert entries(db) == 0


@pytest.mark.parametrize("text, choices, said", [
    ("number,name\n1,Max\n", CHOICES, "Choose the column that holds: species"),
    (TWO, Choices(columns.ANIMALS), "whose numbers"),
    (TWO.replace("2019-03-04", "3/4/2019"), CHOICES, "can be read both ways"),
    (TWO, CHOICES._replace(mapping={"number": "name", "name": "name", "species": "species"}), "Two columns"),
])
def test_what_the_file_does_not_tell_is_asked(db: Database, text: str, choices: Choices, said: str) -> None:
    assert said in " ".join(importing.look(text.encode(), choices).asks)
    with pytest.raises(importing.Refused):
        take(db, text, choices)


def test_a_day_is_read_in_the_order_that_was_chosen(db: Database) -> None:
    text = TWO.replace("2019-03-04", "3/4/2019").replace("2020-05-01", "5/1/2020")
    take(db, text, CHOICES._replace(order="mdy"))
    assert find.search(db, "Max").rows[0]["record"]["birth_date"] == "2019-03-04"


def test_weights_in_pounds_are_kept_as_kilograms(db: Database) -> None:
    take(db, HEADING + "17,Max,dog,,,,27,\n18,Tom,cat,,,,4.2 kg,\n", CHOICES._replace(unit="lb"))
    weights = {row["name"]: row["record"]["weight_kg"] for row in find.everything(db)}
    assert weights == {"Max": "12.24699399", "Tom": "4.2"}


def test_columns_are_chosen_by_a_person_where_the_heading_does_not_tell(db: Database) -> None:
    text = "Nummer;Rufname;Tierart\n17;Max;Hund\n"
    look = importing.look(text.encode(), CHOICES)
    assert len(look.asks) == 3
    mapping = {"Nummer": "number", "Rufname": "name", "Tierart": "species"}
    take(db, text, CHOICES._replace(mapping=mapping))
    assert find.search(db, "Max").rows[0]["record"]["species"] == "dog"


VISIT = "visit number,animal number,day,time,question,examined by,structures,trilostane\n"


def test_visits_come_after_their_animals_and_only_once(db: Database) -> None:
    text = VISIT + "v1,17,30/11/2026,9.30,Large glands?,v. stone,LEFT adrenal; Spleen,yes\n"
    assert faults(db, text, VISITS) == [(2, "animal number", "no animal has the number 17 of Oldbook: take the animals "
                                         "in first.")]
    take(db, TWO)
    assert take(db, text, VISITS).new == 1 and take(db, text, VISITS).same == 1
    (visit,) = visit_plan.of_day(db, "2026-11-30")
    assert (visit["time"], visit["sonographer"], visit["animal"]["name"]) == ("09:30", "VS", "Max")
    assert visit["question"] == {"text": "Large glands?", "structures": ["adrenal.left", "spleen"]}
    assert visit["context"] == {"treatments": ["trilostane"]}
    assert take(db, text.replace("9.30", "11:00"), VISITS).changed == 1
    assert visit_plan.of_day(db, "2026-11-30")[0]["time"] == "11:00" and exams.differences(db) == []


@pytest.mark.parametrize("row, column", [
    ("v1,17,30/11/2026,late,Why?,,,", "time"), ("v1,17,30/11/2026,,Why?,nobody,,", "examined by"),
    ("v1,17,30/11/2026,,Why?,,gizzard,", "structures"), ("v1,17,30/11/2026,,Why?,,,maybe", "trilostane"),
    ("v1,17,,,Why?,,,", "day"), ("v1,17,30/11/2026,,,,,", "question"),
])
def test_a_wrong_cell_of_a_visit_is_named(db: Database, row: str, column: str) -> None:
    take(db, TWO)
    before = entries(db)
    assert [(line, name) for line, name, _ in faults(db, VISIT + row + "\n", VISITS)] == [(2, column)]
    with pytest.raises(importing.Refused):
        take(db, VISIT + row + "\n", VISITS)
    assert entries(db) == before


NAMES = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"], exclude_characters='",'),
                min_size=1, max_size=8).filter(lambda name: name.strip() and name.strip()[0] not in "=+-@'?")


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(NAMES, st.sampled_from(["dog", "cat", "Canine", "horse"]),
                          st.sampled_from(["", "4.2", "9 lb", "x"])), min_size=1, max_size=6))
def test_any_file_is_taken_whole_or_not_at_all_and_never_twice(rows: list[tuple[str, str, str]]) -> None:
    db = open_database(":memory:")
    lines = [f"{place},{name},{species},{weight}" for place, (name, species, weight) in enumerate(rows, 1)]
    data = "\n".join(["number,name,species,weight", *lines]).encode()
    good = all(species != "horse" and weight != "x" for _, species, weight in rows)
    if not good:
        with pytest.raises(importing.Refused):
            importing.take(db, data, CHOICES, "RD")
        assert entries(db) == 0
    else:
        assert importing.take(db, data, CHOICES, "RD").new == len(rows)
        assert sorted(row["name"] for row in find.everything(db)) == sorted(" ".join(row[0].split()) for row in rows)
        assert importing.take(db, data, CHOICES, "RD").entries == 0
    db.close()


def test_a_failure_in_the_middle_leaves_nothing(db: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    from webapp.store import desk

    kept, calls = desk.record, []

    def fails(*given: Any) -> Any:
        calls.append(1)
        if len(calls) == 2:
            raise OSError("disk full")
        return kept(*given)

    monkeypatch.setattr("webapp.exchange.importing.AT_ONCE", 1)
    monkeypatch.setattr("webapp.store.desk.record", fails)
    with pytest.raises(OSError):
        take(db, TWO)
    assert entries(db) == 0 and find.everything(db) == []


@pytest.mark.slow
def test_ten_thousand_rows_come_in_with_progress(db: Database) -> None:
    rows = [f"{n},Animal {n},{'dog' if n % 3 else 'cat'},,,,{3 + n % 9}.5," for n in range(10_000)]
    told: list[tuple[str, int, int]] = []
    start = time.perf_counter()
    taken = importing.take(db, (HEADING + "\n".join(rows)).encode(), CHOICES, "RD",
                           lambda what, done, total: told.append((what, done, total)))
    print(f"10,000 rows in {time.perf_counter() - start:.1f} s, {taken.entries} entries")
    assert taken.new == 10_000 and find.search(db, "").total == 10_000
    for what in ("read", "written"):
        steps = [done for name, done, _ in told if name == what]
        assert len(steps) >= 20 and steps == sorted(steps) and steps[-1] == 10_000
    assert record.newest(db) == taken.entries
