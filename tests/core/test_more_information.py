"""More information never turns "outside" into silence without a reason; a measured value always keeps a line.

Source of the law: "never hides a reading"; a value outside a limit may come inside by what is learned about the animal
(its weight, its age), and then the tool says what holds now.
"""

from decimal import Decimal
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.core import support
from tests.core.entries import Entry, Writer, acts, journals
from webapp.core import typed

SLOW = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
OUTSIDE = ("above_limit", "below_limit", "alert")
GLAND = ("cranial_pole_thickness", "caudal_pole_thickness", "maximum_thickness")


def judged(entries: list[Entry]) -> Any:
    return support.call({"do": "open", "entries": entries})["judgement"]


def places(about: str) -> set[str]:
    """Where the line of a value may stand: a pole is judged with its gland or by itself."""
    stem, _, name = about.rpartition(".")
    if stem.startswith("adrenal.") and name in GLAND:
        return {f"{stem}.{other}" for other in GLAND} | {stem}
    return {about}


def lines(judgement: Any) -> list[Any]:
    return [*judgement["flags"], *judgement["judged"], *judgement["silent"]]


@SLOW
@given(journals(), st.data())
def test_a_value_outside_keeps_a_line_whatever_is_added(entries: list[Entry], data: Any) -> None:
    before = judged(entries)
    outside = [flag for flag in before["flags"] if flag["kind"] in OUTSIDE]
    writer = Writer("d" * 32)
    more = [data.draw(acts(writer, entries)) for _ in range(3)]
    after = judged([*entries, *(entry for entry in more if entry["kind"] not in ("struck", "opened"))])
    for flag in outside:
        spoken = [line for line in lines(after) if line["about"] in places(flag["about"])]
        assert spoken, (flag["about"], [(entry["kind"], entry["body"]) for entry in more])
        assert all(line.get("why") or line.get("text") for line in spoken)


@SLOW
@given(journals())
def test_every_reading_that_counts_has_its_value_and_every_value_its_readings(entries: list[Entry]) -> None:
    answer = support.call({"do": "open", "entries": entries})
    counted: dict[str, int] = {}
    for row in answer["exam"]["readings"]:
        if not row["struck"] and not row.get("lesion"):
            counted[row["quantity"]] = counted.get(row["quantity"], 0) + 1
    shown = {row["quantity"]: row["n"] for row in answer["judgement"]["values"] if not row.get("derived")}
    assert {name: shown.get(name) for name in counted} == counted


@given(
    st.decimals(min_value=0, max_value=99999, places=4),
    st.sampled_from([("mm", "cm"), ("mm", "m"), ("kg", "g"), ("cm/s", "m/s"), ("mL", "cm3")]),
)
def test_units_round_trip_to_the_same_number(number: Any, units: tuple[str, str]) -> None:
    """Exact decimals: there and back again is the number that was typed."""
    small, large = units
    there = typed.convert(f"{number:f}", small, large)
    assert Decimal(typed.convert(there, large, small)) == number
    assert Decimal(typed.convert(typed.convert(f"{number:f}", large, small), small, large)) == number
