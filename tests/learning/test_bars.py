"""Bars: as long as their counts, parts told apart by their filling, words as words."""

from xml.etree import ElementTree

from webapp.learning import bars
from webapp.learning.bars import Bar

SVG = "{http://www.w3.org/2000/svg}"


def drawn(rows: list[Bar], alternative: str = "x") -> ElementTree.Element:
    return ElementTree.fromstring(bars.lying(rows, "test", alternative))  # noqa: S314  made here


def test_a_bar_is_as_long_as_its_count_and_its_parts_follow_each_other() -> None:
    made = drawn([Bar("a", (2, 1, 1), "4"), Bar("b", (0, 2), "2")])
    parts = [part for part in made.findall(f"{SVG}rect") if "part" in part.attrib["class"]]
    lengths = [float(part.attrib["width"]) for part in parts]
    assert [part.attrib["class"] for part in parts] == ["part solid", "part hatched", "part empty", "part hatched"]
    assert lengths[0] == lengths[3] == 2 * lengths[1] == 2 * lengths[2]
    ends = [float(part.attrib["x"]) + float(part.attrib["width"]) for part in parts]
    assert abs(ends[0] - float(parts[1].attrib["x"])) < 0.11
    width = float(made.attrib["viewBox"].split()[2])
    assert max(ends) < width


def test_words_stay_words_and_the_picture_says_what_it_is() -> None:
    made = drawn([Bar("<b>&", (1,), '"1"')], "<title>")
    assert made.attrib["role"] == "img" and made.find(f"{SVG}title").text == "<title>"  # type: ignore[union-attr]
    assert [text.text for text in made.findall(f"{SVG}text")] == ["<b>&", '"1"']
    assert " style" not in bars.lying([Bar("a", (1, 1), "1")], "test", "x")


def test_no_count_gives_no_picture() -> None:
    assert bars.lying([], "test", "x") == "" == bars.lying([Bar("a", (0, 0), "0")], "test", "x")
