"""Records at the desk: what is typed is kept as entries, echoed, searched; forks are shown and settled."""

import time
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.animals.desk import Page, animal
from webapp.animals import find, record, words
from webapp.store import animals, desk

Enter = Callable[..., FlaskClient]


def facts(db: Database, patient: str) -> dict[str, object]:
    told = animals.record(db, patient)
    assert told is not None
    return told


def test_a_record_is_kept_as_typed_with_pounds_as_kilograms_and_both_said(db: Database, sign_in: Enter) -> None:
    """1 lb = 0.45359237 kg by definition: 27 lb = 12.24699399 kg."""
    browser = sign_in()
    patient = animal(browser, "Otto", breed="Labrador Retriever", sex="male", neutered="yes",
                     operation="testes removed", age="7 y 3 m", weight="27 lb", weight_source="owner",
                     body_condition="6", microchip="276 098 106 123 456", numbers__0__label="register",
                     numbers__0__value="A-17")
    told = facts(db, patient)
    assert (told["weight_kg"], told["weight_source"], told["age_months"]) == ("12.24699399", "owner", 87)
    assert told["numbers"] == [{"label": "register", "value": "A-17"}] and told["operation"] == "testes removed"
    entry = next(one for one in record.history(db, patient) if one["body"]["about"] == "patient.weight_kg")
    assert (entry["body"]["typed"], entry["body"]["typed_unit"], entry["author"]) == ("27", "lb", "RD")
    page = browser.get(f"/animals/{patient}").text
    assert "27 lb are kept as 12.25 kg" in page and "typed 27 lb" in page and "12.25 kg (27 lb)" in page
    before = len(record.history(db, patient))
    assert "Nothing had changed" in browser.get(Page(browser, f"/animals/{patient}/edit").sent()).text
    assert len(record.history(db, patient)) == before


@pytest.mark.parametrize("typed, said", [
    ({"name": ""}, "Write the animal"),
    ({"species": None}, "Dog or cat?"),
    ({"weight": "400"}, "400 kg for a dog?"),
    ({"weight": "12"}, "Say where the weight is from"),
    ({"weight": "1.2.3", "weight_source": "scales"}, "two decimal points"),
    ({"weight": "12 stone", "weight_source": "scales"}, "is not a unit known here"),
    ({"birth_date": "3/4/2020"}, "Write the day as"),
    ({"birth_date": "2190-01-01"}, "still to come"),
    ({"age": "7"}, "Write the age with its unit"),
    ({"age": "7 y", "birth_date": "2020-01-01"}, "not both"),
    ({"numbers__0__value": "17"}, "needs its label"),
])
def test_what_cannot_be_taken_is_said_and_what_was_typed_stays(
    db: Database, sign_in: Enter, typed: dict[str, str | None], said: str
) -> None:
    answer = Page(sign_in(), "/animals/new").send(**({"name": "Otto", "species": "dog", "breed": "Pug"} | typed))
    assert answer.status_code == 200 and said in answer.text and 'value="Pug"' in answer.text
    assert next(db.query("select count(*) as n from entries"))["n"] == 0


@pytest.mark.parametrize("chip, said", [
    ("276098106123456", ""),
    ("27609810612345", "this one has 14 digits"),
    ("AB12", "letters and digits"),
    ("000098106123456", "000 is neither"),
])
def test_an_unusual_chip_is_advice_and_never_refused(db: Database, sign_in: Enter, chip: str, said: str) -> None:
    """ISO 11784: 15 digits, of which the first three name a country or a maker."""
    browser = sign_in()
    patient = animal(browser, microchip=chip)
    assert facts(db, patient)["microchip"] == chip
    page = browser.get(f"/animals/{patient}").text
    assert said in page and ("kept as typed" in page) == bool(said)


def test_saving_what_was_not_changed_makes_no_entry(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    patient = animal(browser, weight="7.2", weight_source="scales", weight_date="2026-11-01", age="18 months")
    before = len(record.history(db, patient))
    assert "Nothing had changed" in browser.get(Page(browser, f"/animals/{patient}/edit").sent()).text
    assert len(record.history(db, patient)) == before
    Page(browser, f"/animals/{patient}/edit").sent(weight="7.4", weight_date="2026-11-20")
    assert len(record.history(db, patient)) == before + 1 and facts(db, patient)["forks"] == []


@pytest.mark.catalogue(71)
def test_two_desks_that_change_one_fact_leave_both_and_a_person_settles(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    patient = animal(browser, "Bella")
    one, two = Page(browser, f"/animals/{patient}/edit"), Page(sign_in(), f"/animals/{patient}/edit")
    one.sent(breed="Beagle")
    two.sent(breed="Harrier", sex="female")
    page = browser.get(f"/animals/{patient}").text
    assert "Recorded differently by two people" in page and ">Beagle</button>" in page and ">Harrier</button>" in page
    assert "two versions to settle" in browser.get("/animals").text
    assert facts(db, patient)["sex"] == "female", "what only one of them changed stands"
    form = Page(browser, f"/animals/{patient}", action="/settle")
    form.sent()
    told = facts(db, patient)
    assert told["forks"] == [] and told["breed"] in ("Beagle", "Harrier")
    assert {line["body"]["value"] for line in record.history(db, patient)} >= {"Beagle", "Harrier"}


def test_much_the_same_animal_is_shown_before_a_second_record_is_made(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    first = animal(browser, "Bella", microchip="276098106123456")
    page = Page(browser, "/animals/new")
    answer = page.send(name="Bela", species="dog")
    assert "a name written much alike" in answer.text and first in answer.text
    assert "the same chip number" in page.send(name="Quite other", species="dog", microchip="276098106123456").text
    assert len(find.everything(db)) == 1
    page.sent(name="Bela", species="dog", all_the_same="yes")
    assert len(find.everything(db)) == 2
    assert "much alike" not in page.send(name="Bella", species="cat").text, "a cat is no dog"


def test_the_search_finds_by_every_part_and_by_parts_of_words(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    animal(browser, "Käthe", species="cat", microchip="276 098 106 123 456", owner_name="L. Thorn")
    animal(browser, "Kate", species="dog", numbers__0__label="register", numbers__0__value="A-17")
    for asked, names in {
        "kathe": ["Käthe"], "KÄTH": ["Käthe"], "thorn": ["Käthe"], "cat": ["Käthe"], "276098106": ["Käthe"],
        "276 098 106 123": ["Käthe"], "a-17": ["Kate"], "dog kate": ["Kate"], "": ["Kate", "Käthe"], "kate cat": [],
        "%": [], "100% '": [],
    }.items():
        assert sorted(row["name"] for row in find.search(db, asked).rows) == sorted(names), asked
    assert "No record holds" in browser.get("/animals?q=%3Cscript%3E").text
    assert "<script>" not in browser.get("/animals?q=%3Cscript%3E").text.split("<main", 1)[1]


def test_the_search_over_five_thousand_animals_is_quick(db: Database) -> None:
    """300 ms are promised at the server; the best of three, for a machine that does other things as well."""
    rows = [
        {"patient": f"p{n}", "root": f"p{n}", "name": f"Animal {n}", "species": "dog", "microchip": None,
         "search": f"animal {n}\ndog\nbeagle\nowner {n * 7}", "forks": 0,
         "facts": '{"species": "dog", "numbers": []}'}
        for n in range(5_000)
    ]
    db.table("animals").insert_all(rows)
    for asked, found in (("animal 4999", 1), ("", 5_000), ("beagle owner", 5_000), ("nobody", 0)):
        times = []
        for _ in range(3):
            start = time.perf_counter()
            assert find.search(db, asked).total == found
            times.append(time.perf_counter() - start)
        assert min(times) < 0.3, (asked, times)


def test_every_breed_that_a_limit_judges_by_is_on_the_list_under_that_name() -> None:
    """A limit for a breed holds only where the name is the same (core.limits.breed_is)."""
    listed = words.breeds()
    for species, names in words.limits_breeds().items():
        assert {name for name in names if "pooled" not in name} <= set(listed[species]), species
    assert {"Labrador Retriever", "Yorkshire Terrier"} <= set(listed["dog"])


def test_an_animal_of_a_visit_alone_has_a_page_and_gets_a_record_when_it_is_changed(
    db: Database, sign_in: Enter
) -> None:
    body = {"about": "visit", "date": "2026-11-24",
            "patient": {"name": "Pepper", "species": "dog", "weight_kg": "7.2", "weight_source": "scales on 2026-11-16",
                        "birth_date": "2021-05-11", "age_months": 66}}
    desk.act(db, "planned", body, author="RD", patient="p1")
    browser = sign_in()
    assert "7.2 kg (scales on 16 Nov 2026)" in browser.get("/animals/p1").text
    Page(browser, "/animals/p1/edit").sent(breed="Beagle")
    assert [entry["body"]["about"] for entry in record.history(db, "p1")] == ["patient.breed", "visit"]


@pytest.mark.parametrize("address", ["animals/none", "animals/none/edit", "visits/none", "exchange/patient/none.json"])
def test_what_is_not_there_is_said(sign_in: Enter, address: str) -> None:
    assert sign_in().get(f"/{address}").status_code == 404
