"""A plot of one quantity: every reading is there, limits are told apart without colour, bytes repeat."""

import re
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.report import samples
from webapp.report import plots

SVG = "{http://www.w3.org/2000/svg}"
Json = dict[str, Any]


def limit(use: str, upper: str, **more: Any) -> Json:
    fields = {"use": use, "judges": True, "lower": None, "upper": upper, "known": "read", "source": "Someone 2021"}
    return fields | {"words": "dogs over 5 to 10 kg"} | more


def point(date: str, *readings: str, **more: Any) -> Json:
    value = more.pop("value", readings[0] if readings else "6.0")
    fields = {"date": date, "value": value, "n": len(readings), "uncertainty": "0.5", "readings": list(readings)}
    return fields | {"set_aside": [], "plane": "long_axis", "notes": [], "limits": []} | more


def series(*points: Json, **more: Any) -> Json:
    return {"id": "adrenal.left.length", "title": "LEFT adrenal, length", "unit": "mm", "points": list(points)} | more


def tree(given_: Json) -> ElementTree.Element:
    return ElementTree.fromstring(plots.drawing(given_))


def texts(given_: Json) -> list[str]:
    return [str(one.text) for one in tree(given_).iter(f"{SVG}text")]


TWO = series(
    point("2026-02-12", "6.1", "6.0", "6.2", value="6.1", limits=[limit("limit", "5.1", words="dogs 2.5 to 5 kg")]),
    point("2026-11-17", "7.4", "7.4", "7.3", value="7.4", set_aside=["9.0"], limits=[limit("limit", "5.5")]),
)


def test_every_reading_has_a_mark_of_its_own_on_a_spot_of_its_own() -> None:
    marks = [one for one in tree(TWO).iter(f"{SVG}circle") if one.get("data-mark") == "reading"]
    assert len(marks) == 6
    assert len({(one.get("cx"), one.get("cy")) for one in marks}) == 6
    asides = [one for one in tree(TWO).iter(f"{SVG}path") if one.get("data-mark") == "aside"]
    assert len(asides) == 1
    assert any("another plane, not in the mean" in text for text in texts(TWO))


def test_a_limit_is_drawn_over_the_exams_that_it_holds_for_and_named_there() -> None:
    assert {"limit \u2264 5.1", "limit \u2264 5.5"} <= set(texts(TWO))
    ends = [re.match(r"M([\d.]+) [\d.]+H([\d.]+)$", str(one.get("d"))) for one in tree(TWO).iter(f"{SVG}path")]
    lines = sorted((float(end[1]), float(end[2])) for end in ends if end and float(end[2]) > 50)
    assert lines[0][0] == plots.LEFT and lines[1][1] == plots.WIDTH - plots.RIGHT
    assert lines[0][1] == lines[1][0]


def test_classes_differ_by_pattern_and_by_word_and_unverified_ones_say_so() -> None:
    rows = [
        limit("limit", "6.0"),
        limit("limit", "6.1", judges=False),
        limit("alert", "6.2"),
        limit("criterion", "6.3", known="secondary"),
        limit("reference", "6.4"),
        limit("unverified", "6.5", known="memory"),
        limit("on_indication", "6.6", known="memory"),
    ]
    drawn = series(point("2026-11-17", "6.0", limits=rows))
    named = [text for text in texts(drawn) if "\u2264" in text]
    assert named == [
        "on indication, unverified \u2264 6.6",
        "unverified \u2264 6.5",
        "reference \u2264 6.4",
        "criterion, quoted \u2264 6.3",
        "alert \u2264 6.2",
        "other limit \u2264 6.1",
        "limit \u2264 6.0",
    ]
    patterns = [
        one.get("stroke-dasharray") for one in tree(drawn).iter(f"{SVG}path") if str(one.get("d")).startswith("M42.0 ")
    ]
    assert len(patterns) == len(set(patterns)) == 7


def test_what_does_not_fit_into_the_picture_is_named_below_it() -> None:
    drawn = series(point("2026-11-17", "6.0", limits=[limit("criterion", "40")]))
    assert "Beyond this picture: criterion \u2264 40" in texts(drawn)


def test_where_the_spread_is_not_known_no_bar_pretends_one() -> None:
    alone = series(point("2026-11-17", "6.0", uncertainty=None))
    assert "\u25c7 spread not known" in " ".join(texts(alone))
    assert not [one for one in tree(alone).iter(f"{SVG}path") if "h10" in str(one.get("d"))]
    known = series(point("2026-11-17", "6.0"))
    assert len([one for one in tree(known).iter(f"{SVG}path") if "h10" in str(one.get("d"))]) == 1


def test_it_has_a_title_a_description_and_a_role_and_no_style() -> None:
    root = tree(TWO)
    assert root.get("role") == "img"
    named = str(root.get("aria-labelledby")).split()
    assert [one.get("id") for one in (root[0], root[1])] == named
    assert root[0].text == "LEFT adrenal, length over 2 exams"
    assert "12 Feb 2026: 6.1 mm, uncertainty \u00b1 0.5 mm; readings 6.1, 6.0, 6.2." in str(root[1].text)
    assert "limit: not above 5.5 mm, dogs over 5 to 10 kg (Someone 2021)" in str(root[1].text)
    for one in root.iter():
        assert one.tag != f"{SVG}style" and "style" not in one.attrib and "class" not in one.attrib


def test_a_partly_seen_part_and_a_least_value_say_so_in_the_picture() -> None:
    drawn = texts(series(point("2026-11-17", "6.0", notes=["at least", "partly seen"])))
    assert "\u2265 6.0" in drawn and "partly seen" in drawn


def test_the_rows_say_all_that_the_picture_shows() -> None:
    first, second = plots.rows(TWO)
    assert first.date == "12 Feb 2026" and first.value == "6.1 mm" and first.uncertainty == "\u00b1 0.5 mm"
    assert second.readings == "readings 7.4, 7.4, 7.3; of another plane, not in the mean: 9.0"
    assert second.limits == ["limit: not above 5.5 mm, dogs over 5 to 10 kg (Someone 2021)"]


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", 'a" onload="x', "\x00\x07 &amp; <b>"])
def test_words_stay_words(text: str) -> None:
    drawn = series(point("2026-11-17", "6.0", limits=[limit("limit", "6.1", words=text)]), id=text, title=text)
    root = tree(drawn)
    tags = {one.tag.removeprefix(SVG) for one in root.iter()}
    assert tags == {"svg", "title", "desc", "rect", "path", "text", "circle"}
    assert not any(name.startswith("on") for one in root.iter() for name in one.attrib)


NUMBERS = st.decimals("0.1", "300", places=1).map(str)
POINTS = st.lists(
    st.builds(
        lambda day, readings, half, bounds: point(
            f"2026-01-{day:02d}", *readings, uncertainty=half, limits=[limit("limit", bound) for bound in bounds]
        ),
        st.integers(1, 28),
        st.lists(NUMBERS, min_size=1, max_size=5),
        st.none() | NUMBERS,
        st.lists(NUMBERS, max_size=4),
    ),
    min_size=1,
    max_size=12,
).map(lambda made: sorted(made, key=lambda one: str(one["date"])))


@settings(max_examples=150, deadline=None)
@given(POINTS)
def test_any_course_is_drawn_inside_the_picture_whole_and_the_same_each_time(points: list[Json]) -> None:
    """No reading and no mean lies outside the frame, on another reading, or is left out; bytes repeat."""
    drawn = series(*points)
    assert plots.drawing(drawn) == plots.drawing(drawn)
    marks = list(tree(drawn).iter(f"{SVG}circle"))
    assert len(marks) == sum(len(one["readings"]) for one in points)
    for mark in marks:
        assert plots.TOP <= float(str(mark.get("cy"))) <= plots.TOP + plots.HEIGHT
    named = texts(drawn)
    beyond = " ".join(named)
    for one in points:
        for row in one["limits"]:
            said = f"limit \u2264 {row['upper']}"
            assert said in named or said in beyond


def touching(drawn: Json) -> list[tuple[str, float]]:
    """Words inside the frame whose letters lie on a limit's line, with its height. A letter is taken as 0.57 of its
    size wide (a digit of the shipped font), 0.75 high."""
    root = tree(drawn)
    right, bottom = plots.WIDTH - plots.RIGHT, plots.TOP + plots.HEIGHT
    ends = [re.match(r"M([\d.]+) ([\d.]+)H([\d.]+)$", str(one.get("d"))) for one in root.iter(f"{SVG}path")]
    lines = [tuple(map(float, end.groups())) for end in ends if end and float(end[3]) > plots.LEFT]
    found = []
    for one in root.iter(f"{SVG}text"):
        x, y, size = (float(str(one.get(name))) for name in ("x", "y", "font-size"))
        width = 0.57 * size * len(str(one.text))
        left = x - width if one.get("text-anchor") == "end" else x
        if plots.LEFT < left < right and y <= bottom:
            found += [(str(one.text), height) for start, height, end in lines
                      if left < end and left + width > start and y - 0.75 * size < height < y + 0.5]  # fmt: skip
    return found


@pytest.mark.parametrize("name", ["DP05", "DP07", "DP09", "DP10"])
def test_no_words_lie_on_a_limit_line_in_the_demo(name: str) -> None:
    courses = samples.courses_of(name)
    assert len(courses) > 30
    assert {key: found for key, one in courses.items() if (found := touching(one))} == {}


@pytest.mark.parametrize("notes", [[], ["at least", "partly seen"]])
@pytest.mark.parametrize("near", ["5.8", "5.9", "6.0", "6.1", "6.2", "6.3"])
def test_words_beside_a_mean_give_way_to_a_limit_as_near_as_it_may_be(near: str, notes: list[str]) -> None:
    rows = [limit("limit", near), limit("alert", "7.0")]
    drawn = series(point("2026-02-12", "6.0", "6.1", limits=rows[:1], notes=notes), point("2026-11-17", limits=rows))
    assert touching(drawn) == []


def test_words_of_a_line_that_ends_inside_give_way_to_the_others_and_to_the_mean() -> None:
    rows = [limit("limit", "6.2"), limit("criterion", "6.4"), limit("alert", "8.0")]
    drawn = series(point("2026-02-12", "6.0", limits=rows), point("2026-11-17", "7.0", limits=rows[2:]))
    assert touching(drawn) == []
    spots = {str(one.text): float(str(one.get("y"))) for one in tree(drawn).iter(f"{SVG}text")}
    assert spots["criterion \u2264 6.4"] < spots["limit \u2264 6.2"]
