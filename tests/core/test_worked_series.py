"""Worked examples from print, second part: formulas that never flag, series of ill animals, normal old and young ones.

The first part is test_worked_examples.py; together they hold the printed examples 1 to 26 that the tool has a
quantity for. Not there: the weight of a prostate (part of 9), which the tool does not give.
"""

import re
from fractions import Fraction
from typing import Any

import pytest

from tests.core import support
from tests.core.support import cat, dog, judge
from tests.core.test_worked_examples import calls, twice

ROWS: dict[str, dict[str, Any]] = {row["id"]: row for row in support.table("limits")["rows"]}


def numbers(row: str) -> list[Fraction]:
    """The coefficients of a printed formula, in their order."""
    right = ROWS[row]["formula"].split("=")[1]
    return [Fraction(found) for found in re.findall(r"\d+\.\d+", right)]


@pytest.mark.parametrize(
    ("row", "wanted"),
    [
        ("pro-dog-cast-ct-length", "21.3"),
        ("pro-dog-cast-ct-height", "12.9"),
        ("pro-dog-cast-ct-width", "13.5"),
    ],
)
def test_the_line_of_neutered_dogs_at_twenty_kilograms(row: str, wanted: str) -> None:
    """Example 7: Delaude's CT lines give 21.3, 12.9 and 13.5 mm at 20 kg."""
    base, slope = numbers(row)
    assert base + slope * 20 == Fraction(wanted)
    assert ROWS[row]["use"] == "reference"


@pytest.mark.parametrize(
    ("row", "wanted"),
    [
        ("pro-dog-int-length", "5.125"),
        ("pro-dog-int-width", "4.835"),
        ("pro-dog-int-height-sagittal", "3.945"),
        ("pro-dog-int-height-transverse", "3.545"),
        ("pro-dog-int-volume", "42.645"),
    ],
)
def test_the_lines_of_entire_dogs_are_unverified(row: str, wanted: str) -> None:
    """Example 8: Ruel's lines, coefficients from memory, at 20 kg and 5 years (printed: 5.125 ... 42.6)."""
    weight, age, base = numbers(row)
    assert weight * 20 + age * 5 + base == Fraction(wanted)
    assert (ROWS[row]["use"], ROWS[row]["known"]) == ("unverified", "memory")


def test_an_entire_dogs_prostate_far_over_the_unverified_lines_is_not_flagged() -> None:
    """Example 8: what is known from memory never flags, however large the value."""
    judged = judge(
        dog("20", 60, sex="male", neutered=False),
        twice("prostate.length", "71"),
        twice("prostate.width", "66"),
        twice("prostate.height", "60"),
    )
    assert not [flag for flag in judged["flags"] if flag["grade"] in ("outside", "tell_someone")]
    assert {line["why"] for line in judged["silent"] if line["about"].startswith("prostate.")} <= {
        "unverified_only",
        "no_published_limit",
    }


@pytest.mark.parametrize(
    ("volume", "weight"), [("26.62", "24.33"), ("26.32", "24.01"), ("42.73", "41.12"), ("11.63", "8.71")]
)
def test_atalans_pair_of_formulas_gives_the_printed_weights(volume: str, weight: str) -> None:
    """Example 9: a thesis (Mannuthy 2010) prints pairs of mean volume and weight; they agree to 0.02 g."""
    assert round(abs(_weight_of(volume) - Fraction(weight)), 2) <= Fraction("0.02")


def test_one_printed_pair_does_not_agree() -> None:
    """Example 9: 13.07 mL is printed with 10.89 g; the formulas give 10.19."""
    assert abs(_weight_of("13.07") - Fraction("10.19")) <= Fraction("0.01")
    assert ROWS["pro-dog-atalan-volume"]["use"] == "unverified"


def _weight_of(volume: str) -> Fraction:
    of_volume, volume_base = numbers("pro-dog-atalan-volume")
    of_weight, weight_base = numbers("pro-dog-atalan-weight")
    return of_weight * (Fraction(volume) - volume_base) / of_volume + weight_base


@pytest.mark.parametrize("wall", ["9", "16"])
def test_a_gastric_ulcer_is_a_thick_wall_and_nothing_more(wall: str) -> None:
    """Example 17: seven dogs, 9 to 16 mm; benign and malignant could not be told apart (VRU 1997;38:308-312)."""
    judged = judge(dog(), twice("stomach.wall_thickness", wall))
    assert calls(judged, "stomach.wall_thickness") == {"above"}
    said = str(judged["flags"]).lower()
    assert not [word for word in ("ulcer", "benign", "malignant", "neoplasia") if word in said]


@pytest.mark.parametrize("wall", ["4.07", "3.34"])
def test_both_kinds_of_bowel_disease_lie_above_the_same_limit(wall: str) -> None:
    """Example 18: Tucker 2014, JFMS 16:950-956: eosinophilic 4.07, lymphoplasmacytic 3.34 mm; both above 2.5."""
    judged = judge(cat(), twice("jejunum.wall_thickness", wall))
    assert calls(judged, "jejunum.wall_thickness") == {"above"}
    assert "eosinophil" not in str(judged).lower()


@pytest.mark.parametrize("thickness", ["20.6", "24.7"])
def test_a_dogs_spleen_has_no_limit_sedated_or_not(thickness: str) -> None:
    """Example 23, dogs: acepromazine took the spleen from 2.06 to 2.47 cm in 15 minutes; context, no limit."""
    judged = judge(dog(), twice("spleen.thickness", thickness), context={"sedation": ["acepromazine"]})
    assert calls(judged, "spleen.thickness") == set()
    assert any("acepromazine" in row["text"] for row in judged["context"] if row["about"] == "spleen.thickness")


def test_fluid_in_a_pup_is_counted_and_not_flagged() -> None:
    """Example 24: free fluid was seen in all of the healthy pups."""
    sites = ("diaphragm_liver", "spleen_kidney", "bladder_colon", "liver_kidney")
    judged = support.assess(
        {
            "patient": dog("3", 2),
            "structures": [{"structure": "free_fluid", "part": site, "seen": "whole"} for site in sites],
            "findings": [{"structure": "free_fluid", "part": "bladder_colon", "finding": "fluid"}],
        }
    )
    assert next(row["value"] for row in judged["values"] if row["quantity"] == "free_fluid.score") == "1"
    assert calls(judged, "free_fluid.score") == set()


@pytest.mark.parametrize(
    ("quantity", "wall"),
    [
        ("stomach.wall_thickness", "8"),
        ("stomach.wall_thickness", "25"),
        ("jejunum.wall_thickness", "5"),
        ("jejunum.wall_thickness", "22"),
    ],
)
def test_walls_of_a_series_of_ill_cats_are_above_without_a_name(quantity: str, wall: str) -> None:
    """Example 25: a textbook's lymphoma series: stomach 8 to 25 mm, intestine 5 to 22 mm."""
    judged = judge(cat(), twice(quantity, wall))
    assert calls(judged, quantity) == {"above"}
    assert "lymphoma" not in str(judged["flags"]).lower()


def test_a_normal_cats_iliac_node_is_beside_its_printed_range() -> None:
    """Example 26: a normal node of 18 mm; range 5 to 23.3: values seen, which never judge. Nodes have no lower side."""
    quantity = "node.medial_iliac.left.length"
    judged = judge(cat(), twice(quantity, "18"))
    assert calls(judged, quantity) == set()
    said = [row for line in (*judged["silent"], *judged["judged"]) if line["about"] == quantity for row in line["also"]]
    assert [(row["id"], row["verdict"]) for row in said] == [("ln-cat-mi-len", "not above")]


def test_sources_that_differ_are_named_as_such_on_the_line() -> None:
    """Source: a 3.8 kg cat with 4.3 mm is high by Pérez-López 2021 and not by Combes 2013 or Zimmer 2000; a large dog's
    gland over its class is not made doubtful by a range observed in dogs of all weights (Douglass 1997)."""
    cats = judge(cat("3.8", 84, ideal_weight_kg="3.8"), twice("adrenal.left.maximum_thickness", "4.3"))
    line = next(row for row in cats["flags"] if row["kind"] == "above_limit")
    assert line["sources_differ"] is True and line["limit"]["id"] == "perezlopez2021_cat_le4"
    poles = ("caudal_pole_thickness", "9.4"), ("cranial_pole_thickness", "5.0")
    dogs = judge(dog("9.7"), *[twice(f"adrenal.left.{pole}", size) for pole, size in poles])
    line = next(row for row in dogs["flags"] if row["kind"] == "above_limit")
    assert line["sources_differ"] is False and any("Douglass" in row["words"] for row in line["also"])


@pytest.mark.parametrize(
    ("quantity", "value"),
    [("ileum.wall_thickness", "2.8"), ("node.jejunal.thickness", "4.0"), ("stomach.wall_thickness", "3.6")],
)
def test_what_turns_a_verdict_round_names_no_side_that_never_judges(quantity: str, value: str) -> None:
    """Source: walls, ducts, nodes and the pancreas have no lower verdict."""
    judged = judge(dog("10"), twice(quantity, value))
    line = next(row for row in judged["judged"] if row["about"] == quantity)
    assert [words.partition(":")[0] for words in line["flips"]] == ["above"]
