"""The register in words: nothing is left out, and what does not judge says why."""

import json
from typing import Any

import pytest

from tests.core import support
from tests.core.overlays import NAMES, overlay, own
from webapp.core import differ, engine

Json = dict[str, Any]
TABLE = support.table("limits")


def register(given: Json | None = None) -> Any:
    tables = engine.tables_of({name: json.dumps(support.table(name)) for name in NAMES}, given)
    return json.loads(engine.Engine(tables).call('{"do": "register"}'))["register"]


ROWS = {row["id"]: row for row in register()["rows"]}


def test_every_row_of_the_table_stands_in_the_register_in_its_order() -> None:
    assert list(ROWS) == [row["id"] for row in TABLE["rows"]]


@pytest.mark.parametrize("name", list(ROWS))
def test_a_row_has_its_words(name: str) -> None:
    row = ROWS[name]
    for field in ("quantity", "animals", "n", "population", "plane", "use_words", "known", "statistic", "source"):
        assert isinstance(row[field], str) and row[field].strip(), field
    assert "_" not in row["quantity"] + row["animals"] + row["use_words"] + row["plane"]


def test_a_row_that_judges_says_so_and_no_other_does() -> None:
    judging = {row["id"] for row in TABLE["rows"] if row["use"] in ("limit", "alert", "on_indication")}
    assert {name for name, row in ROWS.items() if row["judges"]} == judging
    for name, row in ROWS.items():
        assert row["use_words"].startswith(("limit", "alert")) == (name in judging)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("melian2021_5_10_left", "limit"),
        ("barthez1995_universal", "cut-off, never judges"),
        ("hoerauf1999_norm_max_thickness_left", "values seen"),
        ("bento2016_le12", "unverified: never flags"),
        ("rp-any-obstr", "alert: tell someone"),
        ("wenger2010_left_low", "limit, only when hypoadrenocorticism suspected and both poles were read"),
        ("rodriguez2011_ct_rADR", "kept for the record: made by CT, not by ultrasound"),
        ("hoerauf1999_hypoa_length_left", "kept for the record: not made to judge healthy animals by ultrasound"),
        ("k-cat-kao", "kept for the record: the number was not seen"),
    ],
)
def test_the_use_in_plain_words(name: str, words: str) -> None:
    assert ROWS[name]["use_words"] == words


def test_quantities_animals_and_bounds_read_as_a_person_says_them() -> None:
    row = ROWS["melian2021_5_10_left"]
    assert (row["quantity"], row["animals"]) == ("LEFT adrenal, greatest thickness", "dogs over 5 to 10 kg, LEFT")
    assert (row["bounds"], row["n"], row["plane"]) == ("up to 5.5 mm", "86", "long axis")
    assert ROWS["rp-any-obstr"]["bounds"] == "under 13 mm"
    assert ROWS["rp-any-obstr"]["quantity"] == "LEFT or RIGHT kidney, pelvis width"
    assert ROWS["pro-dog-enl-ex"]["animals"] == "dogs, male, entire"
    assert ROWS["spl-cat"]["values"] == "mean 8.2, SD 1.4"


def test_a_set_tells_its_citation_and_how_many_of_its_rows_judge() -> None:
    sets = {one["source"]: one for one in register()["sets"]}
    assert sum(one["rows"] for one in sets.values()) == len(ROWS)
    melian = sets["s001"]
    assert (melian["rows"], melian["judging"], melian["off"]) == (8, 8, 0)
    assert melian["citation"].startswith("Melián C, Pérez-López L") and "10.1002/vetr.80" in melian["citation"]
    off = {one["source"]: one for one in register(overlay(sources_off=["s001"]))["sets"]}["s001"]
    assert (off["judging"], off["off"], off["all_off"]) == (8, 8, True)


def test_a_row_switched_off_stays_and_says_what_it_was() -> None:
    row = {row["id"]: row for row in register(overlay(rows_off=["barthez1995_universal"]))["rows"]}
    assert row["barthez1995_universal"]["off"]
    assert row["barthez1995_universal"]["use_words"] == "switched off by the practice (was: cut-off, never judges)"


def test_an_own_row_is_named_as_the_practices() -> None:
    row = register(overlay(rows=[own()]))["rows"][0]
    assert (row["id"], row["own"], row["known"]) == ("own1", True, "the practice's own")


def test_thresholds_have_rule_and_value_and_points_of_distributions_are_fixed() -> None:
    made = {row["id"]: row for row in register()["thresholds"]}
    assert {row["id"] for row in made.values() if row["fixed"]} == {
        "normal_95",
        "too_close",
        "changed",
        "own_reference",
    }
    assert all(row["rule"] for row in made.values())
    values = {value["path"]: value["value"] for row in made.values() for value in row["values"]}
    ours = support.table("thresholds")
    assert values["readings_disagree.share"] == ours["readings_disagree"]["share"]
    assert values["adult_months"] == str(ours["adult_months"])


def differing() -> dict[tuple[str, str], str]:
    return {(row["quantity"], row["species"]): row["words"] for row in register()["differ"]}


@pytest.mark.parametrize(
    ("quantity", "species"),
    [
        ("kidney.left.length", "cat"),
        ("kidney.right.length", "cat"),
        ("duodenum.wall_thickness", "cat"),
        ("stomach.wall_thickness", "cat"),
        ("node.jejunal.thickness", "dog"),
        ("spleen.thickness", "cat"),
        ("adrenal.left.maximum_thickness", "cat"),
    ],
)
def test_sources_differ_is_said_where_published_ranges_disagree(quantity: str, species: str) -> None:
    """Source: the clinical notes on abdominal limits, rule 2; adrenal thickness of cats: 3.9 against 4.8 mm."""
    assert differing()[quantity, species].startswith("sources differ: ")


def test_the_bounds_that_differ_are_named_with_their_sources() -> None:
    words = differing()["duodenum.wall_thickness", "cat"]
    assert "2 to 2.4 mm (Goggin et al. 2000)" in words and "2.1 to 3.8 mm" in words and "(Etue et al. 2001)" in words


def test_classes_of_one_set_do_not_differ_from_each_other() -> None:
    """Delaney's bands for the dog's jejunum have other bounds in each class: these are other animals."""
    assert ("jejunum.wall_thickness", "dog") not in differing()


def row(name: str, **fields: Any) -> Json:
    """A row of cat spleen thickness as the index has it, for the rule alone."""
    made = {
        "id": name, "quantity": "spleen.thickness", "species": "cat", "sex": "any", "neutered": "any", "use": "limit",
        "weight_kg": None, "weight_is": "body weight", "unit": "mm", "source": name, "lower": None, "upper": None,
        "note": "", "population": "cats", "n": 1, "statistic": "x", "known": "read", "age_months": None,
        "lower_is_within": None, "upper_is_within": True,
    }  # fmt: skip
    return made | fields


KG = {"min_included": True, "max_included": True}


@pytest.mark.parametrize(
    ("one", "other", "differs"),
    [
        ({"upper": "10"}, {"upper": "11", "use": "reference"}, True),
        ({"upper": "10"}, {"upper": "10.0", "use": "reference"}, False),
        ({"upper": "10"}, {"lower": "4"}, False),
        ({"upper": "10"}, {"upper": "11", "use": "criterion"}, False),
        ({"upper": "10"}, {"upper": "11", "use": "unverified"}, False),
        ({"upper": "10"}, {"upper": "11", "use": "off", "was": "limit"}, False),
        ({"upper": "10"}, {"upper": "11", "species": "dog"}, False),
        ({"upper": "10"}, {"upper": "11", "breed": "Sphynx"}, False),
        ({"upper": "10", "sex": "male"}, {"upper": "11", "sex": "female"}, False),
        ({"upper": "10", "plane": "long_axis"}, {"upper": "11", "plane": "short_axis"}, False),
        ({"upper": "10", "plane": "long_axis"}, {"upper": "11", "plane": "unspecified"}, True),
        ({"upper": "10", "weight_kg": KG | {"min": None, "max": "4"}},
         {"upper": "11", "weight_kg": KG | {"min": "4", "max": "8"}}, False),
        ({"upper": "10", "weight_kg": KG | {"min": None, "max": "4"}},
         {"upper": "11", "weight_kg": KG | {"min": "3", "max": None}}, True),
        ({"upper": "10", "age_months": {"min": 12, "max": None}},
         {"upper": "11", "age_months": {"min": 5, "max": 6}}, False),
        ({"upper": "10", "applies_when": {"fasted": True}}, {"upper": "11"}, False),
        ({"upper": "10"}, {"mean": "8.2", "sd": "1.4", "use": "reference"}, True),
        ({"upper": "10", "use": "reference"}, {"mean": "8.2", "sd": "1.4", "use": "reference"}, False),
        ({"upper": "10"}, {"source": "a", "upper": "11"}, False),
    ],
)  # fmt: skip
def test_two_rows_differ_only_of_the_same_animals(one: Json, other: Json, differs: bool) -> None:
    blank = {"authors": "A", "year": None, "vol": None, "pages": None, "journal": None, "title": None}
    table = {"version": "t", "sources": {"a": blank, "b": blank},
             "rows": [row("a", **one), row("b", **other)]}  # fmt: skip
    catalogue = support.tables().catalogue
    found = differ.found(engine.Limits(table, catalogue), catalogue, "1.96")
    assert bool(found) == differs
