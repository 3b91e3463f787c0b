"""The values of an animal's exams over time: exact readings, uncertainty by hand, the limits that held then."""

from typing import Any

import pytest

from tests.core import support
from tests.core.entries import POLE, Writer

Row = dict[str, Any]
GREATEST = "adrenal.left.maximum_thickness"


def exam(day: str, weight: str, *entries: tuple[str, Row], device: str = "b" * 32) -> list[Row]:
    writer = Writer(device)
    made = [writer.opened(weight_kg=weight)]
    made[0]["body"]["date"] = day
    made += [writer.read(value, **more) for value, more in entries]
    return [entry | {"exam": f"exam-{day}"} for entry in made]


def series(*exams: list[Row]) -> dict[str, Row]:
    answer = support.call({"do": "series", "exams": list(exams)})
    return {row["quantity"] + (f"|{row['lesion']}" if row["lesion"] else ""): row for row in answer["series"]}


def test_exams_come_in_order_of_time_each_with_the_limit_of_its_own_weight_class() -> None:
    """The classes of Melián et al. 2021: 5.1 mm to 5 kg, 5.5 mm over 5 to 10 kg, LEFT."""
    found = series(exam("2026-11-17", "5.8", ("7.4", {})), exam("2026-02-12", "4.9", ("6.1", {}), device="a" * 32))
    points = found[GREATEST]["points"]
    assert [point["date"] for point in points] == ["2026-02-12", "2026-11-17"]
    judging = [[row["upper"] for row in point["limits"] if row["judges"]] for point in points]
    assert judging == [["5.1"], ["5.5"]]
    assert {row["use"] for row in points[0]["limits"]} > {"limit", "criterion"}


def test_readings_stand_as_they_were_read_and_those_of_another_plane_beside_the_mean() -> None:
    rows = [("6.0", {}), ("6.25", {}), ("9.0", {"plane": "dorsal"})]
    point = series(exam("2026-11-17", "7.2", *rows))[POLE]["points"][0]
    assert point["readings"] == ["6.0", "6.25"]
    assert point["set_aside"] == ["9.0"]
    assert point["n"] == 2


@pytest.mark.parametrize(
    ("readings", "depth", "expanded"),
    [
        # s = 0.1528, under the floor of 0.04 x 7.2333 = 0.2893: twice that.
        (("7.1", "7.4", "7.2"), {}, "0.58"),
        # s = 1.0536 > floor: twice that (the observer's part does not shrink with repetition).
        (("6.0", "7.1", "8.1"), {}, "2.10"),
        # Two identical readings do not look exact: 0.04 x 6.2, and the pixel of 51 mm over 100 rows on top.
        (("6.2", "6.2"), {}, "0.50"),
        (("6.2", "6.2"), {"depth_mm": "51", "rows": "100"}, "0.65"),
        (("6.2",), {}, None),
    ],
)
def test_a_value_says_twice_its_standard_uncertainty(
    readings: tuple[str, ...], depth: Row, expanded: str | None
) -> None:
    """By hand after JCGM 100:2008 with this project's floor; one reading tells no spread."""
    point = series(exam("2026-11-17", "7.2", *((value, depth) for value in readings)))[POLE]["points"][0]
    assert point["uncertainty"] == expanded


def test_a_measuring_twice_is_no_exam_of_an_animal() -> None:
    twice = exam("2026-11-17", "7.2", ("6.0", {}))
    twice[0]["body"]["purpose"] = "measure_twice"
    assert series(twice) == {}


def test_a_numbered_lesion_is_a_course_of_its_own_without_limits() -> None:
    found = series(exam("2026-11-17", "7.2", ("6.0", {"lesion": "adrenal.left#1"}), ("5.0", {})))
    assert [point["value"] for point in found[f"{POLE}|adrenal.left#1"]["points"]] == ["6.0"]
    assert found[f"{POLE}|adrenal.left#1"]["points"][0]["limits"] == []
    assert found[POLE]["points"][0]["readings"] == ["5.0"]
