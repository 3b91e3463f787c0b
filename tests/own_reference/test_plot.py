"""The dots: one shape for each animal, told apart by form, whatever the words are."""

from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from webapp.own_reference import plot
from webapp.own_reference.plot import COUNTS, LEFT_OUT, NAMED, Dot, Limit

SVG = "{http://www.w3.org/2000/svg}"


def drawn(values: list[Dot], limits: list[Limit], words: str = "x") -> ElementTree.Element:
    return ElementTree.fromstring(plot.dots(values, limits, "mm", words))  # noqa: S314  made here


@given(
    st.lists(st.tuples(st.floats(0, 500), st.sampled_from([COUNTS, NAMED, LEFT_OUT])), min_size=1, max_size=200),
    st.lists(st.floats(0, 500), max_size=4),
)
def test_every_animal_is_one_shape_inside_the_picture(values: list[tuple[float, str]], limits: list[float]) -> None:
    made = drawn([Dot(*one) for one in values], [Limit(one, "limit") for one in limits])
    for kind, tag in ((COUNTS, "circle"), (NAMED, "polygon"), (LEFT_OUT, "path")):
        assert len(made.findall(f"{SVG}{tag}")) == sum(one[1] == kind for one in values)
    width, height = (float(number) for number in made.attrib["viewBox"].split()[2:])
    for dot in made.findall(f"{SVG}circle"):
        assert 0 < float(dot.attrib["cx"]) < width and 0 < float(dot.attrib["cy"]) < height
    assert len(made.findall(f"{SVG}line[@class='limit']")) == len(limits)


def test_larger_values_stand_further_right_and_a_limit_between_them() -> None:
    made = drawn([Dot(30, COUNTS), Dot(40, COUNTS)], [Limit(35, "row", (34, 36))])
    first, second = (float(dot.attrib["cx"]) for dot in made.findall(f"{SVG}circle"))
    limit = float(made.find(f"{SVG}line[@class='limit']").attrib["x1"])  # type: ignore[union-attr]
    between = made.find(f"{SVG}line[@class='between']")
    assert between is not None
    assert first < float(between.attrib["x1"]) < limit < float(between.attrib["x2"]) < second


def test_words_stay_words_and_the_picture_says_what_it_is() -> None:
    made = drawn([Dot(1, COUNTS)], [Limit(1, "<b>&")], 'said "so" <here>')
    assert made.attrib["role"] == "img" and made.find(f"{SVG}title").text == 'said "so" <here>'  # type: ignore[union-attr]
    assert "<b>&" in [text.text for text in made.findall(f"{SVG}text")]
    assert "style" not in plot.dots([Dot(1, COUNTS)], [], "mm", "x"), "the page's policy refuses inline styles"


def test_nothing_gives_no_picture() -> None:
    assert plot.dots([], [], "mm", "x") == ""
