"""The tables are complete, say where every number is from, and let only known numbers judge."""

from fractions import Fraction
from typing import Any

import pytest

from tests.core import support
from webapp.core import limits

LIMITS, CATALOGUE, THRESHOLDS = (support.table(name) for name in ("limits", "catalogue", "thresholds"))
ROWS: list[dict[str, Any]] = LIMITS["rows"]
QUANTITIES: list[dict[str, Any]] = CATALOGUE["quantities"]
STRUCTURES: list[dict[str, Any]] = CATALOGUE["structures"]
JUDGING = ("limit", "alert", "on_indication")
USES = (
    *JUDGING,
    "criterion",
    "reference",
    "unverified",
    "outside_check",
    "formula",
    "missing",
    "performance",
    "pitfall",
    "modifier",
    "score",
    "subjective",
)
PSEUDO = ("adrenal.smaller.maximum_thickness", "node.any.thickness", "pancreas.any_lobe.thickness")
BY_ID = {row["id"]: row for row in QUANTITIES}


def named_by(row: dict[str, Any]) -> list[dict[str, Any]]:
    """The quantities of the catalogue that a row's quantity stands for."""
    name = row["quantity"]
    names = [name.replace(".*.", f".{side}.") for side in ("left", "right")] if ".*." in name else [name]
    return [BY_ID[name] for name in names if name in BY_ID]


@pytest.mark.parametrize("row", ROWS, ids=[row["id"] for row in ROWS])
def test_a_limit_says_where_it_is_from_and_whom_it_is_about(row: dict[str, Any]) -> None:
    source = LIMITS["sources"][row["source"]]
    assert any(source[field] for field in ("authors", "title", "journal")) or row["seen_in"] or row["use"] == "missing"
    assert row["known"] in ("read", "secondary", "memory", "missing")
    assert row["population"] and (row["statistic"] or row["known"] == "missing")
    assert row["species"] in ("dog", "cat", "dog+cat")
    assert row["use"] in USES
    for bound in ("lower", "upper"):
        assert row.get(bound) is None or isinstance(row[bound], str) and Fraction(row[bound]) >= 0
    if row.get("lower") is not None and row.get("upper") is not None:
        assert Fraction(row["lower"]) <= Fraction(row["upper"])


@pytest.mark.parametrize("row", [row for row in ROWS if row["use"] in JUDGING], ids=lambda row: row["id"])
def test_a_row_that_judges_is_known_and_speaks_of_a_quantity_in_its_unit(row: dict[str, Any]) -> None:
    assert row["known"] in ("read", "secondary")
    assert row.get("lower") is not None or row.get("upper") is not None
    source = LIMITS["sources"][row["source"]]
    assert source["authors"] or source["title"]
    assert row.get("lower") is None or row.get("upper") is None or Fraction(row["lower"]) < Fraction(row["upper"])
    named = named_by(row)
    assert named or row["quantity"] in PSEUDO
    assert {quantity["unit"] for quantity in named} <= {row["unit"]}
    for bound in ("lower", "upper"):
        if row.get(bound) is not None:
            assert row[bound + "_is_within"] in (True, False)


def test_row_ids_are_unique() -> None:
    assert len({row["id"] for row in ROWS}) == len(ROWS) == 291


def test_no_number_of_memory_judges() -> None:
    """Source: adrenal.md, [M]: "show as unverified, never flag by it alone"."""
    assert [row["id"] for row in ROWS if row["known"] in ("memory", "missing") and row["use"] in JUDGING] == []


def test_diagnostic_cut_offs_are_criteria_and_never_limits() -> None:
    """Source: adrenal.md (a) 4: 7.4 mm and Choi's 6.0 mm are shown under "also", never the judge."""
    uses = {row["id"]: row["use"] for row in ROWS}
    assert {uses["barthez1995_universal"], uses["choi2011_lt10"]} == {"criterion"}
    assert {uses["bento2016_le12"], uses["bento2016_gt12"]} == {"unverified"}


@pytest.mark.parametrize(
    ("row_id", "upper"),
    [
        ("melian2021_2p5_5_left", "5.1"),
        ("melian2021_2p5_5_right", "5.3"),
        ("melian2021_5_10_left", "5.5"),
        ("melian2021_5_10_right", "6.8"),
        ("melian2021_10_20_left", "6.4"),
        ("melian2021_10_20_right", "7.5"),
        ("melian2021_20_40_left", "7.3"),
        ("melian2021_20_40_right", "8.7"),
        ("dechalus2013_lab_left", "7.9"),
        ("dechalus2013_lab_right", "9.5"),
        ("dechalus2013_york_left", "5.4"),
        ("dechalus2013_york_right", "6.7"),
        ("perezlopez2021_cat_le4", "3.9"),
        ("perezlopez2021_cat_4_8", "4.8"),
    ],
)
def test_adrenal_limits_are_the_printed_ones(row_id: str, upper: str) -> None:
    """Source: abstracts of Melián 2021, de Chalus 2013, Pérez-López 2021 (adrenal.md a)."""
    row = next(row for row in ROWS if row["id"] == row_id)
    assert (row["upper"], row["known"], row["use"]) == (upper, "read", "limit")


def test_size_limits_for_adults_say_their_age() -> None:
    """Source: abdomen.md 0, rule 5; alerts hold at any age."""
    for row in ROWS:
        if row["use"] in ("limit", "on_indication"):
            assert row["age_months"]["min"] >= 12, row["id"]
        if row["use"] == "alert":
            assert row["age_months"] is None and row["weight_kg"] is None, row["id"]


def test_weight_classes_of_a_set_touch_without_gap_or_overlap() -> None:
    sets: dict[tuple[str, str, str], list[dict[str, Any]]] = {}
    for row in ROWS:
        if row["use"] in JUDGING and row["weight_kg"]:
            sets.setdefault((row["source"], row["quantity"], row["species"]), []).append(row["weight_kg"])
    assert len(sets) >= 6
    for classes in sets.values():
        classes.sort(key=lambda edges: Fraction(edges["min"] or 0))
        for lighter, heavier in zip(classes, classes[1:], strict=False):
            assert lighter["max"] == heavier["min"]
            assert lighter["max_included"] != heavier["min_included"]


@pytest.mark.parametrize("quantity", QUANTITIES, ids=[row["id"] for row in QUANTITIES])
def test_a_quantity_says_how_it_is_shown_and_what_is_believed(quantity: dict[str, Any]) -> None:
    assert quantity["label"] and quantity["unit"] in ("mm", "mL", "cm/s", "1", "{score}")
    assert isinstance(quantity["decimals"], int) and quantity["lower_verdict"] in (True, False)
    low, high = quantity["plausible"]["from"], quantity["plausible"]["to"]
    assert quantity["unit"] != "mm" or (low and high)
    assert low is None or Fraction(low) < Fraction(high)
    for usual in (quantity["usual"] or {}).values():
        assert Fraction(low) <= Fraction(usual["from"]) < Fraction(usual["to"]) <= Fraction(high)
    for side in ("left", "right"):
        assert f".{side}." not in quantity["id"] or side.upper() in quantity["label"]


def test_a_limit_lies_among_the_values_that_are_believed() -> None:
    for row in ROWS:
        for quantity in named_by(row) if row["use"] in JUDGING else []:
            low, high = quantity["plausible"]["from"], quantity["plausible"]["to"]
            for bound in (row.get("lower"), row.get("upper")):
                if bound is not None and low is not None:
                    assert Fraction(low) < Fraction(bound) < Fraction(high), row["id"]


def test_walls_ducts_nodes_and_pancreas_have_no_lower_verdict() -> None:
    """Source: the contract."""
    for quantity in QUANTITIES:
        name = quantity["id"]
        if name.endswith(("wall_thickness", "duct_diameter")) or name.startswith(("node.", "pancreas.", "bile_duct.")):
            assert quantity["lower_verdict"] is False, name


def test_structures_and_quantities_fit_together() -> None:
    assert (len(STRUCTURES), len(QUANTITIES)) == (38, 102)
    parts = {row["id"]: {part["id"] for part in row["parts"]} for row in STRUCTURES}
    for quantity in QUANTITIES:
        if quantity["structure"]:
            assert quantity["part"] is None or quantity["part"] in parts[quantity["structure"]], quantity["id"]
        for name in (quantity["derived"] or {}).get("of", []):
            assert name in BY_ID
    for row in STRUCTURES:
        assert (
            row["pair"] is None
            or next(other for other in STRUCTURES if other["id"] == row["pair"])["pair"] == row["id"]
        )


def test_our_own_numbers_are_shown_as_ours() -> None:
    """Source: the thresholds handed over: "Ours, not published: choices of this project, shown as such"."""
    assert "not published" in THRESHOLDS["note"]
    for name in (
        "readings_disagree",
        "spread_floor",
        "too_close",
        "changed",
        "side_difference",
        "small_other_gland",
        "class_edge",
        "ideal_weight",
        "oblique_cut",
        "implausible_pole",
    ):
        assert THRESHOLDS[name]["rule"]
    numbers = {
        name: [THRESHOLDS[name].get(field) for field in fields]
        for name, fields in (
            ("readings_disagree", ("share", "mm")),
            ("spread_floor", ("share", "mm")),
            ("side_difference", ("share", "mm")),
            ("small_other_gland", ("mm",)),
            ("class_edge", ("share",)),
            ("oblique_cut", ("pair_mm", "short_axis_mm")),
            ("implausible_pole", ("mm",)),
            ("ideal_weight", ("body_condition",)),
        )
    }
    assert numbers == {
        "readings_disagree": ["0.15", "0.5"],
        "spread_floor": ["0.04", "0.2"],
        "side_difference": ["0.30", "1.5"],
        "small_other_gland": ["3.2"],
        "class_edge": ["0.03"],
        "oblique_cut": ["0.5", "1"],
        "implausible_pole": ["15"],
        "ideal_weight": [7],
    }


def test_every_kind_of_flag_has_its_grade() -> None:
    assert THRESHOLDS["grades"] == {
        "above_limit": "outside",
        "below_limit": "outside",
        "near_limit": "note",
        "alert": "tell_someone",
        "changed": "note",
        "readings_disagree": "look_again",
        "check_value": "look_again",
        "oblique": "look_again",
        "partly_seen": "look_again",
        "side_difference": "note",
        "small_other_gland": "note",
        "caution": "note",
    }


def test_what_is_told_at_once_is_a_finding_that_can_be_recorded() -> None:
    known = support.table("descriptors")["finding_ids"]
    structures = {row["id"] for row in STRUCTURES}
    for rule in THRESHOLDS["tell_someone"]:
        assert rule.get("vessel_state_begins") or rule["finding"] in known
        assert set(rule.get("structures") or []) <= structures


@pytest.mark.parametrize("row", [row for row in ROWS if row["weight_kg"]], ids=lambda row: row["id"])
def test_the_ends_of_a_weight_class_are_open_or_closed_as_printed(row: dict[str, Any]) -> None:
    prepared = support.tables().limits.by_id[row["id"]]
    edges, gram = row["weight_kg"], Fraction(1, 1000)
    for end, inwards in (("min", gram), ("max", -gram)):
        if edges[end] is None:
            continue
        at, inside, outside = (Fraction(edges[end]) + step for step in (0, inwards, -inwards))
        assert limits.in_class(prepared, (at.numerator, at.denominator)) == edges[end + "_included"]
        assert limits.in_class(prepared, (inside.numerator, inside.denominator))
        assert not limits.in_class(prepared, (outside.numerator, outside.denominator))
