"""What the rules say of the invented exams: every check written in patients.json, and the named cases."""

from typing import Any

import pytest

from demo import seed

Judged = dict[str, dict[str, Any]]
Row = dict[str, Any]
EXAMS = {exam["id"]: exam for _, exam in seed.exams()}
EXPECTED = [(name, check) for name, exam in EXAMS.items() for check in exam["expected"]]
BEYOND = {"above_limit", "below_limit"}


def flags(judged: Judged, exam: str, **fields: Any) -> list[Row]:
    """The flags of an exam that have these values."""
    found = judged[exam]["judgement"]["flags"]
    return [flag for flag in found if all(flag.get(name) == value for name, value in fields.items())]


def verdicts(judged: Judged, exam: str, check: Row) -> set[str]:
    """Kinds given against the check's own limit, by flags and by lines inside the limit."""
    judgement = judged[exam]["judgement"]
    lines = [*judgement["flags"], *judgement["judged"]]
    about = [line for line in lines if line["about"] == check["about"] and line["kind"] != "caution"]
    return {line["kind"] for line in about if (line["limit"] or {}).get("id") == check["limit"]}


@pytest.mark.parametrize(
    ("exam", "check"), EXPECTED, ids=[f"{exam}-{check['about']}-{check['result']}" for exam, check in EXPECTED]
)
def test_expected_check(judged: Judged, exam: str, check: Row) -> None:
    result, about = check["result"], check["about"]
    if result == "small_other_gland":
        assert flags(judged, exam, kind="small_other_gland", structure=about.rsplit(".", 1)[0])
    elif result == "partly_seen":
        silent = judged[exam]["judgement"]["silent"]
        assert any(line["about"] == about and line["why"] == "partly_seen" for line in silent)
        assert not verdicts(judged, exam, check)
    elif result == "readings_disagree":
        assert flags(judged, exam, kind="readings_disagree", about=about, value=check["value"])
    elif result in ("above", "below"):
        assert verdicts(judged, exam, check) == {f"{result}_limit"}
    else:
        given = verdicts(judged, exam, check)
        assert given and not given & BEYOND, f"{about} is {result} in {check['limit']}"
    if check.get("class_edge"):
        assert flags(judged, exam, kind="caution", about=about)


def test_every_exam_is_read_in_full(judged: Judged) -> None:
    for name, answer in judged.items():
        exam = answer["exam"]
        assert not exam["unread"] and not exam["forks"], name
        assert exam["opened"] and exam["closed"], name
        counted = sum(len(r["values"]) for s in EXAMS[name]["structures"] for r in s.get("readings", []))
        assert len(exam["readings"]) == counted, name


@pytest.mark.parametrize("exam", ["DP01-E1", "DP02-E1", "DP03-E1", "DP04-E1"])
def test_healthy_animals_raise_nothing_grave_and_leave_nothing_open(judged: Judged, exam: str) -> None:
    assert [flag["text"] for flag in flags(judged, exam) if flag["grade"] != "note"] == []
    assert judged[exam]["judgement"]["open"] == []


def test_thin_gland_beside_a_mass_is_small_other_gland_and_not_below(judged: Judged) -> None:
    assert flags(judged, "DP06-E1", kind="small_other_gland", structure="adrenal.left", grade="note")
    assert not flags(judged, "DP06-E1", kind="below_limit", structure="adrenal.left")
    assert flags(judged, "DP06-E1", kind="alert", structure="vena_cava", grade="tell_someone")


def test_a_mass_leaves_no_pole_open(judged: Judged) -> None:
    open_parts = {item["about"] for item in judged["DP06-E1"]["judgement"]["open"]}
    assert not open_parts & {"adrenal.right", "adrenal.right.cranial_pole", "adrenal.right.caudal_pole"}


def test_weight_class_that_moved_is_said(judged: Judged) -> None:
    for about in ("adrenal.left.maximum_thickness", "adrenal.right.maximum_thickness"):
        texts = [flag["text"] for flag in flags(judged, "DP07-E2", about=about, kind="caution")]
        assert any("class moved" in text and "10.2 kg" in text and "9.7 kg" in text for text in texts)


def test_no_growth_within_the_spread_of_readings(judged: Judged) -> None:
    assert not flags(judged, "DP07-E2", kind="changed")
    assert flags(judged, "DP05-E2", kind="changed", about="adrenal.left.caudal_pole_thickness")


def test_hidden_pole_is_never_within(judged: Judged) -> None:
    judgement = judged["DP12-E1"]["judgement"]
    within = [line["about"] for line in judgement["judged"] if line["kind"] == "within"]
    assert not [about for about in within if about.startswith("adrenal.right")]
    assert any(
        item["about"] == "adrenal.right.cranial_pole" and item["kind"] == "not_seen" for item in judgement["open"]
    )
    disagree = flags(judged, "DP12-E1", kind="readings_disagree", grade="look_again")
    assert [flag["about"] for flag in disagree] == ["adrenal.right.caudal_pole_thickness"]


def test_low_side_needs_the_signs_of_the_request(judged: Judged) -> None:
    assert flags(judged, "DP08-E1", kind="below_limit", about="adrenal.left.maximum_thickness")
    assert "hypoadrenocorticism_suspected" in judged["DP08-E1"]["exam"]["context"]["signs"]


def test_cat_at_a_class_edge_gets_both_limits(judged: Judged) -> None:
    for about in ("adrenal.left.maximum_thickness", "adrenal.right.maximum_thickness"):
        assert flags(judged, "DP09-E2", about=about, kind="above_limit")
        assert flags(judged, "DP09-E2", about=about, kind="caution")
