"""The figures as plain arithmetic: counted by hand, quartiles against the standard library's, no share of a handful."""

import statistics
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.learning import figures
from webapp.learning.facts import minutes, reached

LEAST = 5


def exam(**more: Any) -> dict[str, Any]:
    return {"reached": {}, "minutes": None, "flags": [], "versions": []} | more


def state(about: str, seen: str, *why: str) -> dict[str, Any]:
    structure, _, part = about.partition("/")
    return {"structure": structure, "part": part or None, "seen": seen, "why": list(why), "fork": False}


def flag(limit: str | None, kind: str, *reasons: str) -> dict[str, Any]:
    words = {"lower": None, "upper": "5", "unit": "mm", "class_words": "dogs", "source": "x"}
    made = {"about": "liver", "kind": kind, "contradiction": False, "limit": limit, "words": words}
    return made | {"reasons": list(reasons)}


@pytest.mark.parametrize(
    ("states", "how"),
    [
        ([state("liver", "whole")], "whole"),
        ([state("liver", "not_seen", "gas")], "not_seen"),
        ([state("liver", "whole"), state("liver/left", "not_seen", "gas")], "partly"),
        ([state("liver/left", "whole"), state("liver/right", "whole")], "whole"),
        ([state("liver/left", "not_seen", "gas")], "partly"),
        ([state("liver", "not_examined")], "not_examined"),
        ([state("liver", "not_seen"), state("liver/left", "whole")], "not_seen"),
    ],
)
def test_an_exam_counts_once_for_a_structure_its_parts_taken_with_it(states: list[Any], how: str) -> None:
    assert reached(states)["liver"]["how"] == how


def test_what_is_removed_or_not_visible_as_expected_was_not_missed() -> None:
    assert reached([state("uterus", "removed"), state("ureter.left", "not_visible_expected")]) == {}


def test_a_forked_state_waits_until_a_person_settles_it() -> None:
    assert reached([state("liver", "not_seen") | {"fork": True}]) == {}


def test_reasons_are_counted_by_exams_and_a_missing_one_is_said() -> None:
    missed = {"liver": {"how": "partly", "why": ["gas", "ribs"]}}
    ways = (("not_seen", ["gas"]), ("partly", []), ("whole", []))
    rows = [exam(reached=missed), *[exam(reached={"liver": {"how": how, "why": why}}) for how, why in ways]]
    (row,) = figures.not_seen(rows, ["liver"], LEAST)
    assert (row["exams"], row["partly"], row["not_seen"], row["missed"], row["without"]) == (4, 2, 1, 3, 1)
    assert row["reasons"] == [("gas", 2), ("ribs", 1)]
    assert row["share"] == "", "four are fewer than a handful"
    (more,) = figures.not_seen([*rows, exam(reached=missed)], ["liver"], LEAST)
    assert (more["missed"], more["exams"], more["share"]) == (4, 5, "80 %")


@pytest.mark.parametrize(
    ("part", "whole", "said"), [(0, 5, "0 %"), (1, 8, "13 %"), (1, 200, "1 %"), (5, 5, "100 %"), (4, 4, ""), (0, 0, "")]
)
def test_a_share_is_rounded_half_up_and_never_said_of_a_handful(part: int, whole: int, said: str) -> None:
    assert figures.share(part, whole, LEAST) == said


@given(st.lists(st.integers(0, 4_000_000), min_size=2, max_size=60))
def test_median_and_quarters_are_those_of_ranks_n_plus_1(lengths: list[int]) -> None:
    made = figures.minutes([exam(minutes=one) for one in lengths])
    wanted = statistics.quantiles(lengths, n=4, method="exclusive")
    # The standard library goes beyond the ends where a rank lies outside them; a length beyond all was never seen.
    low, middle, high = (min(max(one, min(lengths)), max(lengths)) for one in wanted)
    assert [float(made["quarters"][0]), float(made["median"]), float(made["quarters"][1])] == [low, middle, high]
    assert sum(count for _, count in made["classes"]) == made["n"] == len(lengths)
    assert (made["shortest"], made["longest"]) == (min(lengths), max(lengths))


def test_an_exam_of_unknown_length_is_said_and_in_no_class() -> None:
    made = figures.minutes([exam(minutes=None), exam(minutes=12)])
    assert (made["n"], made["unknown"], made["classes"]) == (1, 1, [("10 to 19", 1)])
    assert figures.minutes([exam()]) == {"n": 0, "unknown": 1, "classes": []}


def test_minutes_go_by_both_moments_with_their_zones_and_never_below_zero() -> None:
    assert minutes("2026-10-25T02:50:00+02:00", "2026-10-25T02:20:30+01:00") == 31
    assert minutes("2026-11-24T10:20:00+01:00", "2026-11-24T10:00:00+01:00") is None
    assert minutes("2026-11-24T10:20:00+01:00", None) is None
    assert minutes("yesterday", "2026-11-24T10:00:00+01:00") is None


def test_flags_are_counted_by_the_limit_that_raised_them_else_by_kind() -> None:
    rows = figures.flags(
        [
            exam(flags=[flag("a", "above_limit", "same again"), flag("a", "near_limit"), flag("b", "above_limit")]),
            exam(flags=[flag("a", "caution"), flag(None, "caution", "x", "y"), flag("a", "above_limit")]),
        ],
        2,
    )
    told = {(row["limit"] or row["kinds"][0]): (row["raised"], row["exams"], row["left"], row["share"]) for row in rows}
    assert told == {"a": (3, 2, 1, "33 %"), "caution": (2, 1, 1, "50 %"), "b": (1, 1, 0, "")}
    assert next(row for row in rows if row["kinds"] == ["caution"])["reasons"] == [("x", 1), ("y", 1)]


def test_versions_after_the_first_are_counted_by_their_kind() -> None:
    first, second, third = ({"version": n, "status": s} for n, s in ((1, "final"), (2, "amended"), (3, "appended")))
    made = figures.versions([exam(versions=[first]), exam(versions=[first, second, third]), exam()], LEAST)
    assert made == {"signed": 2, "again": 1, "share": "", "statuses": [("amended", 1), ("appended", 1)]}


def test_a_recheck_is_open_only_when_its_day_has_passed() -> None:
    rows = [
        {"due": "2026-11-01", "done": True}, {"due": "2026-11-02", "done": False}, {"due": "2026-12-24", "done": False},
        {"due": "2026-12-25", "done": True}, {"due": "2026-11-03", "done": None},
    ]  # fmt: skip
    made = figures.rechecks(rows, "2026-11-24", 2)
    assert made == {"due": 5, "done": 2, "open": 1, "ahead": 1, "untold": 1, "passed": 2, "share": "50 %"}
