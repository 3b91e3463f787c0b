"""Worked examples from print: what the sources conclude is what the judgement says, and no more than that.

Numbers and conclusions are those of the publications named beside each; where a source names no plane or number
of readings, two equal readings stand for one value.
"""

from typing import Any

import pytest

from tests.core import support
from tests.core.support import cat, dog, judge, reading

Judgement = dict[str, Any]
SIZES = {"above_limit": "above", "below_limit": "below"}


def twice(quantity: str, value: str, **more: Any) -> dict[str, Any]:
    unit = more.pop("unit", "mm")
    return reading(quantity, value, value, unit=unit, **more)


def calls(judged: Judgement, about: str) -> set[str]:
    """What is said of a quantity against its limits: above, below, alert, or nothing."""
    kinds = {flag["kind"] for flag in judged["flags"] if flag["about"] == about}
    return {SIZES.get(kind, kind) for kind in kinds if kind in SIZES or kind == "alert"}


def value(judged: Judgement, quantity: str) -> str | None:
    return next((row["value"] for row in judged["values"] if row["quantity"] == quantity), None)


@pytest.mark.parametrize(
    ("kidney", "aorta", "ratio", "said"),
    [
        ("60.0", "8.0", "7.50", set()),
        ("44.0", "8.0", "5.50", set()),
        ("43.9", "8.0", "5.49", {"below"}),
        ("72.8", "8.0", "9.10", set()),
        ("72.9", "8.0", "9.11", {"above"}),
    ],
)
def test_kidney_to_aorta(kidney: str, aorta: str, ratio: str, said: set[str]) -> None:
    """Example 1: Mareschal et al. 2007, VRU 48:434-438, 5.5 to 9.1."""
    judged = judge(dog("18"), twice("kidney.left.length", kidney), twice("aorta.diameter", aorta))
    assert value(judged, "kidney.left.length_to_aorta") == ratio
    assert calls(judged, "kidney.left.length_to_aorta") == said


@pytest.mark.parametrize(
    ("weight", "organ", "wall", "said"),
    [
        ("19.9", "duodenum", "5.1", set()),
        ("19.9", "duodenum", "5.2", {"above"}),
        ("20.0", "duodenum", "5.3", set()),
        ("20.0", "duodenum", "5.4", {"above"}),
        ("30.0", "duodenum", "6.0", set()),
        ("30.0", "duodenum", "6.1", {"above"}),
        ("19.9", "jejunum", "4.1", set()),
        ("19.9", "jejunum", "4.2", {"above"}),
        ("20", "jejunum", "4.4", set()),
        ("39.9", "jejunum", "4.5", {"above"}),
        ("40", "jejunum", "4.7", set()),
        ("40", "jejunum", "4.8", {"above"}),
    ],
)
def test_bowel_wall_by_weight(weight: str, organ: str, wall: str, said: set[str]) -> None:
    """Example 2: Delaney et al. 2003, VRU 44:577-580, half-open weight bands."""
    quantity = f"{organ}.wall_thickness"
    assert calls(judge(dog(weight), twice(quantity, wall)), quantity) == said


@pytest.mark.parametrize(("pelvis", "said"), [("12.9", {"above"}), ("13.0", {"above", "alert"})])
def test_renal_pelvis_at_thirteen(pelvis: str, said: set[str]) -> None:
    """Example 3: d'Anjou et al. 2011, 13 mm or wider was always obstruction."""
    quantity = "kidney.right.pelvis_width"
    assert calls(judge(dog(), twice(quantity, pelvis)), quantity) == said


def test_bladder_volume_is_not_the_ellipsoid() -> None:
    """Example 4: 6 x 5 x 4 cm x 0.2 pi = 75.4 mL; the ellipsoid's 62.8 must not come out."""
    judged = judge(
        dog(),
        reading("bladder.length", "6.0", unit="cm"),
        reading("bladder.width", "5.0", unit="cm"),
        reading("bladder.height", "4.0", unit="cm"),
    )
    assert value(judged, "bladder.volume") == "75.4"


def test_testis_volume() -> None:
    """Example 5: 3.0 x 2.0 x 2.2 cm x 0.71 = 9.37 mL, shown with one decimal."""
    judged = judge(
        dog(sex="male", neutered=False),
        reading("testis.left.length", "30"),
        reading("testis.left.width", "20"),
        reading("testis.left.height", "22"),
    )
    assert value(judged, "testis.left.volume") == "9.4"


@pytest.mark.parametrize(("index", "said"), [("0.64", set()), ("0.71", set()), ("0.72", {"above"})])
def test_resistive_index(index: str, said: set[str]) -> None:
    """Example 6: (50 - 18) / 50 = 0.64 is the dogs' mean; (50 - 14) / 50 = 0.72 is over 0.71."""
    quantity = "kidney.left.resistive_index"
    assert calls(judge(dog(), twice(quantity, index, unit="1")), quantity) == said


def test_castrate_prostate_has_no_ultrasound_limit() -> None:
    """Example 7: the CT line of Delaude (21.3 x 12.9 x 13.5 mm at 20 kg) is an outside check, no limit."""
    judged = judge(
        dog("20", sex="male", neutered=True),
        twice("prostate.length", "21.3"),
        twice("prostate.height", "12.9"),
        twice("prostate.width", "13.5"),
    )
    assert {line["why"] for line in judged["silent"] if line["about"].startswith("prostate.")} == {"no_published_limit"}
    assert not [flag for flag in judged["flags"] if flag["grade"] == "outside"]


@pytest.mark.parametrize(
    ("wet", "score"),
    [
        (("diaphragm_liver", "bladder_colon"), "2"),
        ((), "0"),
        (("diaphragm_liver", "spleen_kidney", "bladder_colon", "liver_kidney"), "4"),
    ],
)
def test_fluid_score(wet: tuple[str, ...], score: str) -> None:
    """Example 10: fluid at the diaphragm and beside the colon is score 2; at all four sites 4."""
    sites = ("diaphragm_liver", "spleen_kidney", "bladder_colon", "liver_kidney")
    looked = [{"structure": "free_fluid", "part": site, "seen": "whole"} for site in sites]
    found = [{"structure": "free_fluid", "part": site, "finding": "fluid"} for site in wet]
    judged = support.assess({"patient": dog(), "structures": looked, "findings": found})
    assert value(judged, "free_fluid.score") == score


@pytest.mark.parametrize("wall", ["3.8", "3.2"])
def test_duodenum_of_a_cat_with_bowel_disease(wall: str) -> None:
    """Example 11: PMC7158306 fig 23-19."""
    judged = judge(cat(), twice("duodenum.wall_thickness", wall))
    assert calls(judged, "duodenum.wall_thickness") == {"above"}


def test_muscular_hypertrophy_is_said_in_millimetres_only() -> None:
    """Example 12: Furtado, Vet Rec Case Rep 3:e000166: wall 8, muscularis 4.5 mm; lymphoma was excluded."""
    judged = judge(
        cat(age=24),
        twice("jejunum.wall_thickness", "8"),
        reading("jejunum.muscularis_thickness", "4", "5"),
        twice("jejunum.submucosa_thickness", "1.5"),
    )
    assert calls(judged, "jejunum.wall_thickness") == {"above"}
    assert calls(judged, "jejunum.muscularis_to_submucosa") == {"above"}
    assert value(judged, "jejunum.muscularis_to_submucosa") == "3.00"
    assert "lymphoma" not in str(judged).lower()


@pytest.mark.parametrize(
    ("age", "pancreas", "duct", "said"),
    [(60, "6", "1.7", {"above"}), (None, "6", "1.7", {"above"}), (180, "7", "2.2", set())],
)
def test_pancreas_of_young_and_old_cats(age: int | None, pancreas: str, duct: str, said: set[str]) -> None:
    """Examples 13 and 14: TVP May/June 2018 p 62, figs 6 and 8."""
    judged = judge(
        cat(age=age), twice("pancreas.left_lobe.thickness", pancreas), twice("pancreas.left_lobe.duct_diameter", duct)
    )
    assert calls(judged, "pancreas.left_lobe.duct_diameter") == said
    assert calls(judged, "pancreas.left_lobe.thickness") == set()


def test_papilla_and_duct_of_the_jaundiced_cat() -> None:
    """Example 15: acvr.org case of a Maine Coon, papilla 7.2 mm, pancreatic duct 4.6 mm."""
    judged = judge(
        cat("6", 96, breed="Maine Coon"),
        twice("duodenum.papilla_width", "7.2"),
        twice("pancreas.left_lobe.duct_diameter", "4.6"),
        context={"signs": ["jaundice"]},
    )
    assert calls(judged, "duodenum.papilla_width") == {"above"}
    assert calls(judged, "pancreas.left_lobe.duct_diameter") == {"above"}


def test_stomach_wall_with_pancreatitis() -> None:
    """Example 16: Murakami 2019, JVIM 33:1260-1265, 9.9 mm against 5."""
    judged = judge(dog(), twice("stomach.wall_thickness", "9.9"))
    assert calls(judged, "stomach.wall_thickness") == {"above"}


@pytest.mark.parametrize(
    ("animal", "duct", "said"),
    [
        (dog(), "4.2", {"above"}),
        (dog(), "14.4", {"above"}),
        (cat(), "5.0", {"above"}),
        (cat(), "6.0", {"above", "alert"}),
    ],
)
def test_a_wide_bile_duct_is_wide_and_not_obstructed(animal: dict[str, Any], duct: str, said: set[str]) -> None:
    """Examples 19 and 20: of six suspected obstructions only one was truly obstructed (ACVIM 2018 HP06; Spain 2017)."""
    judged = judge(animal, twice("bile_duct.diameter", duct))
    assert calls(judged, "bile_duct.diameter") == said
    words = [flag["text"] for flag in judged["flags"] if flag["about"] == "bile_duct.diameter"]
    assert not [text for text in words if "obstruct" in text.lower()]


def test_a_narrow_pelvis_never_says_no_obstruction() -> None:
    """Example 21: Lemieux 2021: of cats with a proven obstruction 8 percent had 2 mm or less."""
    judged = judge(cat(), twice("kidney.left.pelvis_width", "1.8"))
    assert calls(judged, "kidney.left.pelvis_width") == set()
    said = str(judged).lower()
    assert "obstruction" not in said and "normal" not in said and "no disease" not in said


def test_portal_velocity_has_no_limit_to_flag_by() -> None:
    """Example 22: 9.2 against 18.1 cm/s in dogs with and without cirrhosis: means of two groups, no limit."""
    judged = judge(dog(), reading("portal_vein.velocity", "9.2", "9.2", unit="cm/s"))
    assert calls(judged, "portal_vein.velocity") == set()


@pytest.mark.parametrize(("thickness", "said"), [("8.9", set()), ("10.5", {"above"})])
def test_spleen_of_a_sedated_cat(thickness: str, said: set[str]) -> None:
    """Example 23: acepromazine took cats' spleens from 8.9 to 10.5 mm, across the limit of 10."""
    judged = judge(cat(), twice("spleen.thickness", thickness), context={"sedation": ["acepromazine"]})
    assert calls(judged, "spleen.thickness") == said


def test_pups_have_big_nodes_and_a_little_fluid() -> None:
    """Example 24: Beagle pups of 7 to 12 weeks: jejunal nodes 7.1 +/- 2.2 mm."""
    judged = judge(dog("3", 2), twice("node.jejunal.thickness", "9.3"))
    assert calls(judged, "node.jejunal.thickness") == set()
    assert [line["why"] for line in judged["silent"] if line["about"] == "node.jejunal.thickness"] == [
        "age_under_12_months"
    ]


# The disagreement of published sets on the same dog (adrenal.md, section a): dog, side, pole in mm, breed, and what
# the breed row, Melián, Soulsby, Bento, Choi and the 7.4 mm cut-off say: A above, - not above, None not applicable.
DISAGREEMENT = [
    ("2.0", "left", "5.6", "Yorkshire Terrier", "A", None, "A", "-", "-", "-"),
    ("4", "left", "5.3", None, None, "A", "-", "-", "-", "-"),
    ("7", "left", "6.0", "Dachshund", "-", "A", "A", "-", "-", "-"),
    ("9", "right", "6.3", None, None, "-", "A", "A", "A", "-"),
    ("10", "left", "5.6", None, None, "A", "-", "-", None, "-"),
    ("11", "left", "6.5", None, None, "A", "-", "A", None, "-"),
    ("12.5", "left", "6.6", None, None, "A", "-", "-", None, "-"),
    ("28", "right", "9.0", "Labrador Retriever", "-", "A", "A", "A", None, "A"),
    ("35", "left", "7.6", None, None, "A", "-", "A", None, "A"),
    ("45", "left", "7.8", None, None, None, "-", "A", None, "A"),
]
SETS = ("dechalus2013 martins2015", "melian2021", "soulsby2015", "bento2016", "choi2011", "barthez1995")


@pytest.mark.parametrize("dog_of_table", DISAGREEMENT, ids=[f"{row[0]} kg {row[1]} {row[2]}" for row in DISAGREEMENT])
def test_ten_dogs_on_whom_the_sets_disagree(dog_of_table: tuple[Any, ...]) -> None:
    weight, side, pole, breed, *expected = dog_of_table
    judged = judge(
        dog(weight, breed=breed),
        twice(f"adrenal.{side}.caudal_pole_thickness", pole),
        twice(f"adrenal.{side}.cranial_pole_thickness", "4.0"),
    )
    said = sets_said(judged, f"adrenal.{side}")
    assert [said.get(name) for name in SETS] == expected
    chosen = [row for row in (*judged["flags"], *judged["judged"]) if row["limit"] and row["kind"] != "caution"]
    beyond = [row for row in chosen if row["kind"] == "above_limit"]
    breed_judges = breed in ("Yorkshire Terrier", "Labrador Retriever")
    judge_of = expected[0] if breed_judges else expected[1]
    assert len(chosen) == (judge_of is not None)
    assert len(beyond) == (judge_of == "A")


def sets_said(judged: Judgement, structure: str) -> dict[str, str]:
    """{set of SETS: A or -} of one gland, from the verdict and from what stands beside it."""
    said = {}
    for line in (*judged["flags"], *judged["judged"], *judged["silent"]):
        if line["structure"] != structure or line["kind"] == "caution":
            continue
        rows = [(row["id"], row["verdict"] == "above") for row in line["also"]]
        if line["limit"]:
            rows.append((line["limit"]["id"], line["kind"] == "above_limit"))
        for row, above in rows:
            for name in SETS:
                if row.split("_")[0] in name.split(" "):
                    said[name] = "A" if above else "-"
    return said
