"""Records that do not fit together are asked about, and records that do fit are left alone."""

from typing import Any

import pytest

from tests.core import support
from tests.core.entries import Entry, Writer

BEYOND = [("adrenal.left.maximum_thickness", "7.9"), ("adrenal.left.maximum_thickness", "8.1")]


def said(*acts: tuple[str, Any], patient: dict[str, Any] | None = None) -> list[tuple[str, str]]:
    """(about, kind) of every contradiction of an exam made of (kind, body) acts."""
    phone = Writer()
    entries: list[Entry] = [phone.opened(**(patient or {}))]
    entries += [phone.write(kind, body) for kind, body in acts]
    answer = support.call({"do": "open", "entries": entries})
    assert answer["exam"]["unread"] == []
    lines = answer["judgement"]["contradictions"]
    assert all(line["text"].strip() for line in lines)
    return [(line["about"], line["kind"]) for line in lines]


def seen(about: str, state: str, **more: Any) -> tuple[str, Any]:
    return "seen", {"about": about, "seen": state} | more


def read(quantity: str, value: str) -> tuple[str, Any]:
    return "read", {"about": quantity, "value": value, "unit": "mm"}


def found(about: str, finding: str, **more: Any) -> tuple[str, Any]:
    return "found", {"about": about, "finding": finding} | more


def described(about: str, *words: str) -> tuple[str, Any]:
    return "set", {"about": about, "value": list(words)}


def impression(text: str) -> tuple[str, Any]:
    return "set", {"about": "impression", "value": text}


MASS = found("adrenal.right", "mass", dimensions=["21"], unit="mm")


@pytest.mark.parametrize(
    ("acts", "contradiction"),
    [
        ([seen("spleen", "whole", normal=True), found("spleen", "nodule")], ("spleen", "normal_with_finding")),
        (
            [seen("pancreas", "whole", normal=True), seen("pancreas.left_lobe", "not_seen", why="gas")],
            ("pancreas", "normal_not_seen"),
        ),
        (
            [seen("adrenal.left", "whole", normal=True), *[read(*row) for row in BEYOND]],
            ("adrenal.left", "normal_beyond"),
        ),
        ([seen("spleen", "removed"), found("spleen", "nodule")], ("spleen", "removed_described")),
        ([seen("spleen", "removed"), read("spleen.thickness", "12")], ("spleen", "removed_described")),
        ([read("prostate.length", "30")], ("prostate", "other_sex")),
        ([described("liver.margin", "sharp", "rounded")], ("liver.margin", "opposites")),
        ([described("adrenal.right.capsule", "smooth", "interrupted")], ("adrenal.right.capsule", "opposites")),
        ([described("jejunum.layers", "kept", "lost")], ("jejunum.layers", "opposites")),
        ([MASS, impression("Mass of the left adrenal gland.")], ("adrenal.left", "side_differs")),
        ([found("free_fluid", "none"), impression("Free fluid beside the bladder.")], ("free_fluid", "lost_no")),
    ],
)
def test_records_that_do_not_fit_are_asked_about(acts: list[Any], contradiction: tuple[str, str]) -> None:
    assert contradiction in said(*acts)


@pytest.mark.parametrize(
    "acts",
    [
        [described("liver.margin", "sharp"), described("liver.texture", "coarse", "mottled")],
        [described("liver.margin", "sharp"), described("spleen.margin", "rounded")],
        [described("gallbladder.content", "clear", "stones")],
        [seen("spleen", "whole", normal=True)],
        [seen("spleen", "whole"), found("spleen", "nodule")],
        [seen("spleen", "whole", normal=True), found("spleen", "none")],
        [seen("spleen", "whole", normal=True), found("liver", "nodule")],
        [seen("pancreas", "whole"), seen("pancreas.left_lobe", "not_seen", why="gas")],
        [seen("pancreas.body", "whole", normal=True), seen("pancreas.left_lobe", "not_seen", why="gas")],
        [seen("adrenal.left", "whole", normal=True), read("adrenal.left.maximum_thickness", "5.0")],
        [seen("adrenal.right", "whole", normal=True), *[read(*row) for row in BEYOND]],
        [seen("spleen", "removed")],
        [read("uterus.horn_diameter", "6")],
        [MASS],
        [MASS, impression("Mass of the right adrenal gland.")],
        [MASS, impression("Right adrenal mass. Left kidney quiet.")],
        [found("free_fluid", "none"), impression("No free fluid.")],
        [found("free_fluid", "none"), impression("Without any free fluid.")],
        [impression("Left adrenal large.")],
    ],
    ids=range(19),
)
def test_records_that_fit_are_left_alone(acts: list[Any]) -> None:
    assert said(*acts) == []


def test_a_struck_finding_contradicts_nothing() -> None:
    phone = Writer()
    start, state = phone.opened(), phone.seen("spleen", "whole", normal=True)
    finding = phone.write("found", {"about": "spleen", "finding": "nodule"})
    answer = support.call({"do": "open", "entries": [start, state, finding, phone.struck(finding["id"])]})
    assert answer["judgement"]["contradictions"] == []


def test_a_contradiction_changes_no_record_and_no_verdict() -> None:
    """Source: the house rule that the tool compares and reminds; a person settles."""
    phone = Writer()
    entries = [phone.opened(), phone.seen("adrenal.left", "whole", normal=True)]
    entries += [phone.read(value, quantity) for quantity, value in BEYOND]
    answer = support.call({"do": "open", "entries": entries})
    assert [row["normal"] for row in answer["exam"]["states"]] == [True]
    assert [flag["kind"] for flag in answer["judgement"]["flags"]].count("above_limit") == 1


def windows(*acts: tuple[str, Any]) -> Any:
    """The open item of the spleen that was not seen."""
    phone = Writer()
    entries = [phone.opened(), phone.seen("spleen", "not_seen", why="gas"), *[phone.write(*act) for act in acts]]
    items = support.call({"do": "open", "entries": entries})["judgement"]["open"]
    return next(item for item in items if item["about"] == "spleen")


def test_what_was_not_seen_names_the_windows_left_to_try() -> None:
    """Source: common practice, said as such in the table of windows."""
    assert support.table("windows")["known"] == "common practice"
    known = [row["id"] for row in support.table("windows")["structures"]["spleen"]["windows"]]
    untried = windows()
    assert [row["id"] for row in untried["windows"]] == known and not any(row["tried"] for row in untried["windows"])
    tried = windows(("set", {"about": "spleen.windows_tried", "value": [known[0]]}))
    assert [row["id"] for row in tried["windows"]] == [*known[1:], known[0]]
    assert tried["tried"].startswith("one window tried: ")


def test_every_window_belongs_to_a_structure_and_says_how() -> None:
    structures = {row["id"] for row in support.table("catalogue")["structures"]}
    table = support.table("windows")["structures"]
    assert set(table) <= structures and table
    for row in table.values():
        names = [window["id"] for window in row["windows"]]
        assert len(set(names)) == len(names) and all(
            window["label"] and isinstance(window["how"], str) for window in row["windows"]
        )


@pytest.mark.parametrize(
    "words",
    [
        "Right adrenal mass; left adrenal of normal size.",
        "Right adrenal mass. The left adrenal gland is thin.",
        "Right adrenal mass, left adrenal not enlarged.",
        "No left adrenal mass. Right adrenal mass.",
        "Adrenal mass on the right.",
    ],
)
def test_an_impression_that_names_the_right_side_as_well_is_no_slip(words: str) -> None:
    assert said(MASS, impression(words)) == []


@pytest.mark.parametrize("words", ["Left-sided adrenal mass.", "LEFT ADRENAL MASS", "Adrenal mass, left."])
def test_the_wrong_side_is_found_before_and_after_the_organ(words: str) -> None:
    assert ("adrenal.left", "side_differs") in said(MASS, impression(words))


@pytest.mark.parametrize(
    "words",
    [
        "Free fluid: none.",
        "Scant free fluid was not found.",
        "There is no evidence of any free fluid.",
        "Free fluid was looked for without success.",
    ],
)
def test_a_no_anywhere_in_the_sentence_is_no_lost_no(words: str) -> None:
    assert said(found("free_fluid", "none"), impression(words)) == []
