"""The practice's own over the published tables: what it may say, and what it can never do."""

import copy
import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.core import support
from tests.core.overlays import MAXIMUM, NAMES, overlay, own
from webapp.core import engine, limits
from webapp.core.errors import CoreError

ROWS: list[dict[str, Any]] = support.table("limits")["rows"]
MELIAN = "s001"
Json = dict[str, Any]


def tables(given: Json | None) -> Any:
    return engine.tables_of({name: support.table(name) for name in NAMES}, given)


def ask(given: Json | None, question: Json) -> Any:
    return json.loads(engine.Engine(tables(given)).call(json.dumps(question)))


def judge(given: Json | None, patient: Json, *readings: Json, **more: Any) -> Any:
    return ask(given, {"do": "assess", "case": {"patient": patient, "readings": list(readings), **more}})


def lines(judged: Json) -> list[Json]:
    return [*judged["flags"], *judged["judged"], *judged["silent"]]


def limits_named(judged: Json) -> set[str]:
    """Ids of all rows that take any part in a judgement."""
    named = {line["limit"]["id"] for line in lines(judged) if line["limit"]}
    return named | {row["id"] for line in lines(judged) for row in line["also"]}


def test_the_version_counts_the_practices_changes() -> None:
    assert ask(None, {"do": "version"})["limits_version"] == "limits-2026.11.1"
    assert ask(overlay(change=7), {"do": "version"})["limits_version"] == "limits-2026.11.1+p7"


def test_a_set_switched_off_judges_nothing_and_stands_beside_nothing() -> None:
    dog, reading = support.dog("7"), support.reading(MAXIMUM, "5.6", "5.7")
    before = judge(None, dog, reading)
    assert [flag["limit"]["id"] for flag in before["flags"] if flag["limit"]] == ["melian2021_5_10_left"]
    after = judge(overlay(sources_off=[MELIAN]), dog, reading)
    assert not any(name.startswith("melian2021") for name in limits_named(after))
    assert [line["why"] for line in after["silent"] if line["about"] == MAXIMUM]


def test_a_row_switched_off_leaves_its_set_in_use() -> None:
    off = overlay(rows_off=["melian2021_5_10_left"])
    assert "melian2021_5_10_left" not in limits_named(judge(off, support.dog("7"), support.reading(MAXIMUM, "5.6")))
    heavy = judge(off, support.dog("15"), support.reading(MAXIMUM, "6.6"))
    assert "melian2021_10_20_left" in limits_named(heavy)


def test_where_the_nodes_own_row_is_off_the_row_for_any_node_does_not_take_over() -> None:
    """Source: the table: "any node" is for the nodes that have no row of their own."""
    names = [row["id"] for row in ROWS if row["quantity"] == "node.jejunal.thickness" and row["use"] in limits.JUDGING]
    assert names
    made = tables(overlay(rows_off=names)).limits.rows("dog", "node.jejunal.thickness")
    assert [row["id"] for row in made if row["use"] in limits.JUDGING] == []


def test_a_changed_threshold_is_the_one_that_is_used() -> None:
    readings = support.reading("kidney.left.length", "60", "70")
    flags = {flag["kind"] for flag in judge(None, support.dog(), readings)["flags"]}
    wide = overlay(thresholds={"readings_disagree.share": "0.5"})
    assert "readings_disagree" in flags
    assert "readings_disagree" not in {flag["kind"] for flag in judge(wide, support.dog(), readings)["flags"]}


def test_an_own_row_goes_before_a_published_one_for_the_same_animals() -> None:
    judged = judge(overlay(rows=[own()]), support.dog("7"), support.reading(MAXIMUM, "6.0"))
    flag = next(flag for flag in judged["flags"] if flag["kind"] == "above_limit")
    assert (flag["limit"]["id"], flag["limit"]["known"], flag["limit"]["n"]) == ("own1", "practice", 31)
    assert flag["source"] == "the practice's own row, own series 2024 to 2026"
    assert "melian2021_5_10_left" in {row["id"] for row in flag["also"]}


def test_a_row_of_the_practices_own_animals_says_so_and_goes_first_as_any_own_row() -> None:
    made = overlay(rows=[own(known="own data"), own(id="own2", known="read")])
    judged = judge(made, support.dog("7"), support.reading(MAXIMUM, "6.0"))
    flag = next(flag for flag in judged["flags"] if flag["kind"] == "above_limit")
    assert (flag["limit"]["id"], flag["limit"]["known"]) == ("own1", "own data")
    assert tables(made).limits.by_id["own2"]["known"] == "practice", "no typed row says that a paper was read"


def test_an_own_row_for_both_sides_judges_both() -> None:
    rows = [own(quantity="adrenal.*.maximum_thickness")]
    for side in ("left", "right"):
        reading = support.reading(f"adrenal.{side}.maximum_thickness", "9")
        flags = judge(overlay(rows=rows), support.dog("7"), reading)["flags"]
        assert [flag["limit"]["id"] for flag in flags if flag["kind"] == "above_limit"] == ["own1"]


@pytest.mark.parametrize("use", ["criterion", "reference", "unverified"])
def test_an_own_row_that_is_no_limit_stands_beside_and_never_judges(use: str) -> None:
    judged = judge(overlay(rows=[own(use=use)]), support.dog("7"), support.reading(MAXIMUM, "6.0"))
    assert all(line["limit"]["id"] != "own1" for line in lines(judged) if line["limit"])
    assert "own1" in limits_named(judged)


def test_bounds_typed_in_centimetres_are_kept_in_the_quantitys_unit_and_as_typed() -> None:
    made = tables(overlay(rows=[own(upper="0,58 cm")])).limits.by_id["own1"]
    assert (made["upper"], made["unit"], made["typed_upper"], made["typed_unit"]) == ("5.8", "mm", "0,58 cm", "cm")


def test_an_own_row_of_an_unknown_number_of_animals_says_so() -> None:
    assert tables(overlay(rows=[own(n="not known")])).limits.by_id["own1"]["n"] == "not known"


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"quantity": "adrenal.left.colour"}, "unknown_quantity"),
        ({"quantity": "liver.*.length"}, "unknown_quantity"),
        ({"lower": "6"}, "bounds_crossed"),
        ({"unit": "mL"}, "wrong_unit"),
        ({"upper": "5.8 kg"}, "wrong_unit"),
        ({"upper": "5.8 parsec"}, "unknown_unit"),
        ({"source": "  "}, "no_source"),
        ({"population": ""}, "no_population"),
        ({"n": None}, "no_n"),
        ({"n": 0}, "no_n"),
        ({"n": True}, "no_n"),
        ({"upper": None}, "no_bound"),
        ({"upper": "580"}, "not_believable"),
        ({"upper": "five"}, "no_digits"),
        ({"plane": "sideways"}, "bad_shape"),
        ({"plane": None}, "bad_shape"),
        ({"use": "alert"}, "bad_shape"),
        ({"species": "horse"}, "bad_shape"),
        ({"weight_kg": {"min": None, "max": None}}, "no_weights"),
        ({"weight_kg": {"min": "10", "min_included": True, "max": "5", "max_included": True}}, "weights_crossed"),
        ({"quantity": "adrenal.left.caudal_pole_thickness"}, "pole_without_breed"),
        ({"id": "melian2021_5_10_left"}, "id_taken"),
    ],
)
def test_a_nonsensical_own_row_is_refused_in_one_sentence(fields: Json, code: str) -> None:
    with pytest.raises(CoreError) as refused:
        tables(overlay(rows=[own(**fields)]))
    if code != "bad_shape":
        assert refused.value.code == code
    assert refused.value.message and "\n" not in refused.value.message


def test_a_pole_with_a_breed_may_have_a_limit() -> None:
    row = own(quantity="adrenal.left.caudal_pole_thickness", breed="Beagle", weight_kg=None)
    judged = judge(
        overlay(rows=[row]),
        support.dog("7", breed="Beagle"),
        support.reading("adrenal.left.caudal_pole_thickness", "6.3"),
        support.reading("adrenal.left.cranial_pole_thickness", "4.0"),
    )
    assert "own1" in {line["limit"]["id"] for line in judged["flags"] if line["limit"]}


@pytest.mark.parametrize(
    ("path", "number"),
    [
        ("readings_disagree.share", "0"),
        ("readings_disagree.share", "-0.1"),
        ("readings_disagree.share", "1.2"),
        ("readings_disagree.share", "much"),
        ("readings_disagree.rule", "1"),
        ("learned_spread.least_df", "12.5"),
        ("ideal_weight.body_condition", "10"),
        ("too_close.z", "1"),
        ("normal_95.z", "2"),
        ("grades", "1"),
        ("adult_months.years", "1"),
        ("nothing.at.all", "1"),
    ],
)
def test_a_nonsensical_threshold_is_refused(path: str, number: str) -> None:
    with pytest.raises(CoreError):
        tables(overlay(thresholds={path: number}))


def test_a_whole_number_stays_one() -> None:
    made = tables(overlay(thresholds={"learned_spread.least_df": "12.0", "adult_months": "10"})).thresholds
    assert (made["learned_spread"]["least_df"], made["adult_months"]) == (12, 10)


@pytest.mark.parametrize(
    "given", [[], "off", {"change": -1}, {"rows": {}}, {"sources_off": "s001"}, {"thresholds": []}]
)
def test_an_overlay_of_another_shape_is_refused(given: Any) -> None:
    with pytest.raises(CoreError):
        tables(given)


SOURCES = st.sets(st.sampled_from(sorted({row["source"] for row in ROWS})), max_size=6)
IDS = st.sets(st.sampled_from([row["id"] for row in ROWS]), max_size=12)
NUMBERS = st.decimals(min_value="0.001", max_value="1", places=3).map(str)
PATHS = st.dictionaries(
    st.sampled_from(["class_edge.share", "readings_disagree.mm", "spread_floor.share", "side_difference.mm"]), NUMBERS
)
ANIMALS = st.builds(
    lambda species, weight, age, breed: {
        "species": species,
        "weight_kg": str(weight),
        "age_months": age,
        "breed": breed,
    },
    st.sampled_from(["dog", "cat"]),
    st.decimals(min_value="1", max_value="60", places=1),
    st.integers(2, 200),
    st.sampled_from([None, "Labrador Retriever", "Yorkshire Terrier", "Dachshund"]),
)
QUANTITIES = [row for row in support.table("catalogue")["quantities"] if not row["derived"] and row["unit"] == "mm"]
READINGS = st.lists(
    st.tuples(st.sampled_from(QUANTITIES), st.decimals(min_value="0.5", max_value="80", places=1)),
    min_size=1,
    max_size=6,
).map(lambda pairs: [support.reading(quantity["id"], str(value)) for quantity, value in pairs])


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(SOURCES, IDS, ANIMALS, READINGS)
def test_what_is_off_takes_no_part_and_nothing_judges_that_did_not(
    sources: set[str], ids: set[str], animal: Json, readings: list[Json]
) -> None:
    off = overlay(sources_off=sorted(sources), rows_off=sorted(ids))
    judged = judge(off, animal, *readings)
    out = ids | {row["id"] for row in ROWS if row["source"] in sources}
    assert not limits_named(judged) & out
    for row in tables(off).limits.all:
        published = next(one for one in ROWS if one["id"] == row["id"])
        assert row["use"] == ("off" if row["id"] in out else published["use"])
    judging = {row["id"] for row in ROWS if row["use"] in (*limits.JUDGING, "alert")}
    assert {line["limit"]["id"] for line in lines(judged) if line["limit"]} <= judging - out


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(SOURCES, IDS, PATHS, st.sampled_from(["4", "5.8", "12"]))
def test_the_published_tables_are_never_touched(sources: set[str], ids: set[str], thresholds: Json, upper: str) -> None:
    published = {name: copy.deepcopy(support.table(name)) for name in NAMES}
    before = json.dumps(published, sort_keys=True)
    given_overlay = overlay(
        sources_off=sorted(sources), rows_off=sorted(ids), thresholds=thresholds, rows=[own(upper=upper)]
    )
    kept = json.dumps(given_overlay, sort_keys=True)
    engine.tables_of(published, given_overlay)
    assert json.dumps(published, sort_keys=True) == before
    assert json.dumps(given_overlay, sort_keys=True) == kept


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(ANIMALS, READINGS)
def test_an_overlay_that_changes_nothing_judges_as_published(animal: Json, readings: list[Json]) -> None:
    plain, with_it = judge(None, animal, *readings), judge(overlay(), animal, *readings)
    assert with_it.pop("limits_version") == plain.pop("limits_version") + "+p1"
    assert with_it == plain
