"""The spread that a practice learns from its own replicates, against printed data; and where it is used."""

import math
from statistics import variance
from typing import Any

import pytest

from tests.core import support
from tests.core.entries import EXAM, Entry, Writer

KIDNEY = "kidney.left.length"
# Peak flow of 20 schoolchildren, four readings each, in l/min: Bland and Altman, BMJ 1996;313:744.
CHILDREN = [
    (190, 220, 200, 200),
    (220, 200, 240, 230),
    (260, 260, 240, 280),
    (210, 300, 280, 265),
    (270, 265, 280, 270),
    (280, 280, 270, 275),
    (260, 280, 280, 300),
    (275, 275, 275, 305),
    (280, 290, 300, 290),
    (320, 290, 300, 290),
    (300, 300, 310, 300),
    (270, 250, 330, 370),
    (320, 330, 330, 330),
    (335, 320, 335, 375),
    (350, 320, 340, 365),
    (360, 320, 350, 345),
    (330, 340, 380, 390),
    (335, 385, 360, 370),
    (400, 420, 425, 420),
    (430, 460, 480, 470),
]


def exam(values: list[str], quantity: str = KIDNEY, author: str = "VS", **more: Any) -> list[Entry]:
    phone = Writer()
    entries = [phone.opened(), *[phone.read(value, quantity, **more) for value in values]]
    return [entry | {"author": author, "exam": EXAM} for entry in entries]


def learn(*exams: list[Entry]) -> Any:
    answer = support.call({"do": "learn", "exams": list(exams)})
    assert "error" not in answer, answer
    return answer["learned"]


def children() -> list[list[Entry]]:
    """The children as kidneys: a tenth of the numbers, in mm."""
    return [exam([f"{flow // 10}.{flow % 10}" for flow in child]) for child in CHILDREN]


def test_repeatability_of_bland_and_altmans_children() -> None:
    """Source: BMJ 1996;313:744: residual mean square 460.52, s_w 21.5, repeatability 60 (59.5 unrounded)."""
    residual = sum(3 * variance(child) for child in CHILDREN) / 60
    assert residual == pytest.approx(460.52, abs=0.005)
    pooled = learn(*children())["kidney.*.length"]["pooled"]
    assert (pooled["df"], pooled["groups"], pooled["enough"]) == (60, 20, True)
    assert float(pooled["sd"]) == pytest.approx(math.sqrt(residual) / 10, abs=6e-5)
    assert float(pooled["repeatability"]) == pytest.approx(1.96 * math.sqrt(2 * residual) / 10, abs=6e-5)
    assert f"{float(pooled['sd']) * 10:.1f}" == "21.5"


def test_both_sides_teach_one_spread_and_observers_are_kept_apart() -> None:
    learned = learn(exam(["40", "41"]), exam(["50", "53"], "kidney.right.length", author="AB"))
    row = learned["kidney.*.length"]
    assert set(row["observers"]) == {"VS", "AB"}
    assert float(row["pooled"]["sd"]) == pytest.approx(math.sqrt((0.5 + 4.5) / 2), abs=6e-5)
    assert float(row["observers"]["VS"]["sd"]) == pytest.approx(math.sqrt(0.5), abs=6e-5)


@pytest.mark.parametrize(
    ("values", "more"),
    [
        (["40"], {}),
        (["40", "44"], {"acquired": "same_frame"}),
        (["40", "44"], {"view": "partly"}),
        (["40", "44"], {"lesion": "liver#1"}),
    ],
)
def test_what_is_no_replicate_teaches_nothing(values: list[str], more: dict[str, Any]) -> None:
    """Source: standards.md A1: calipers placed again on one frame do not show the observer's spread."""
    assert learn(exam(values, **more)) == {}


def test_a_struck_reading_teaches_nothing() -> None:
    phone = Writer()
    start, first, second = phone.opened(), phone.read("40", KIDNEY), phone.read("44", KIDNEY)
    assert learn([start, first, second, phone.struck(second["id"])]) == {}


def test_too_few_readings_say_so_and_are_not_used() -> None:
    """Source: thresholds, learned_spread: from 20 degrees of freedom."""
    row = learn(*[exam(["40", "42"]) for _ in range(19)])["kidney.*.length"]
    assert row["pooled"]["enough"] is False and "not enough" in row["pooled"]["words"]
    assert learn(*[exam(["40", "42"]) for _ in range(20)])["kidney.*.length"]["pooled"]["enough"] is True


def probability(learned: Any, *values: str) -> Any:
    phone = Writer()
    entries = [phone.opened(), *[phone.read(value, "jejunum.wall_thickness") for value in values]]
    judged = support.call({"do": "open", "entries": entries, "learned": learned})["judgement"]
    lines = [line for line in (*judged["flags"], *judged["judged"]) if line["limit"]]
    return lines[0]["probability"], lines[0]["call"]


def learned_sd(sd: str, df: int = 30) -> Any:
    row = {"sd": sd, "df": df, "groups": df, "repeatability": "1", "enough": True, "words": ""}
    return {"jejunum.wall_thickness": {"unit": "mm", "pooled": row, "observers": {}}}


def test_a_learned_spread_gives_one_reading_a_probability() -> None:
    """Source: JCGM 106, one-sided: limit 4.1, reading 4.3, u 0.4: 0.69."""
    assert probability({}, "4.3") == (None, "spread not known")
    assert probability(learned_sd("0.4"), "4.3") == (0.69, "too close to call")


def test_a_learned_spread_replaces_that_of_two_readings_but_never_the_floor() -> None:
    """Source: spread_floor: the larger of the learned one and the floor; s / sqrt n where that is larger still."""
    assert probability(learned_sd("0.01"), "4.3", "4.3") == probability({}, "4.3", "4.3")
    wide = probability(learned_sd("0.4"), "4.2", "4.4")[0]
    assert wide == pytest.approx(0.69)


def test_change_against_one_earlier_reading_needs_a_learned_spread() -> None:
    """Source: changed: without any replicate and without learned spread no verdict; t(0.975, 30) = 2.042."""
    now, then = Writer(), Writer("a" * 32)
    request = {
        "do": "open",
        "entries": [now.opened(), now.read("4.0", "jejunum.wall_thickness")],
        "earlier": [{"entries": [then.opened(), then.read("3.0", "jejunum.wall_thickness")]}],
    }
    assert not [flag for flag in support.call(request)["judgement"]["flags"] if flag["kind"] == "changed"]
    known = support.call(request | {"learned": learned_sd("0.3")})["judgement"]
    assert [flag["kind"] for flag in known["flags"] if flag["kind"] == "changed"] == ["changed"]
    unsure = support.call(request | {"learned": learned_sd("0.4")})["judgement"]
    assert not [flag for flag in unsure["flags"] if flag["kind"] == "changed"]
