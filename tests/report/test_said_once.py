"""What was recorded alike of two sides or several parts is said once, and nothing that was said is lost."""

import re

import pytest

from tests.report import samples
from tests.report.test_content import made, rows, section
from webapp.report import content, sides, text


def note(about: str, words: str) -> samples.Json:
    return {"id": about, "about": about, "text": words, "struck": False, "author": "VS", "at": samples.ISSUED}


def finding(structure: str, kind: str, part: str | None, **more: object) -> samples.Json:
    made = {"id": f"{structure} {part}", "structure": structure, "finding": kind, "part": part, "struck": False}
    return made | {"number": None, "dimensions": None, "vessel": None, "text": None, "author": "VS"} | more


def told_of(**changed: object) -> str:
    return section(made(samples.exam(**changed), samples.judgement()), "measured")


@pytest.mark.parametrize(
    ("name", "pair", "side"),
    [
        ("kidney.left.length", "kidney.*.length", "left"),
        ("node.medial_iliac.right.thickness", "node.medial_iliac.*.thickness", "right"),
        ("pancreas.right_lobe.thickness", "pancreas.right_lobe.thickness", ""),
        ("spleen.thickness", "spleen.thickness", ""),
    ],
)
def test_a_side_is_a_word_of_its_own(name: str, pair: str, side: str) -> None:
    assert sides.pair_of(name) == (pair, side)


def test_two_sides_of_the_same_words_share_a_line_and_keep_what_only_one_says() -> None:
    left = {"label": "LEFT kidney", "text": "Seen. Small. Notch at one place.", "asked": True}
    right = {"label": "RIGHT kidney", "text": "Seen. Small. One cyst.", "asked": True}
    words = "Seen. Small. LEFT: Notch at one place. RIGHT: One cyst."
    assert sides.joined([left, right]) == [{"label": "LEFT and RIGHT kidney", "text": words, "asked": True}]
    assert sides.joined([left, right | {"asked": False}]) == [left, right | {"asked": False}]
    assert sides.joined([left, right | {"text": "Not seen (gas)."}]) == [left, right | {"text": "Not seen (gas)."}]


@pytest.mark.parametrize("name", samples.demo_names())
def test_no_sentence_of_a_person_is_lost_in_the_demo(name: str) -> None:
    told, judged = samples.of_demo(name)
    printed = " ".join(text.text(made(told, judged)).split())
    for row in told["notes"]:
        for sentence in re.split(r"(?<=\.) (?=[A-Z])", row["text"]):
            assert sentence.rstrip(".") in printed, (row["about"], sentence)


def test_parts_with_the_same_note_share_it() -> None:
    words = "Even, margin smooth."
    notes = [note(f"pancreas.{part}", words) for part in ("right_lobe", "left_lobe")] + [note("pancreas", "Deep.")]
    states = [samples.state("pancreas", "whole", "pancreas", normal=True)]
    assert "Pancreas: Right lobe and left lobe: Even, margin smooth. Deep." in told_of(notes=notes, states=states)


def test_one_finding_of_several_parts_is_said_once_and_a_described_one_stands_alone() -> None:
    both = [finding("node.medial_iliac", "enlarged", part) for part in ("left", "right")]
    assert "Enlarged (left and right)." in told_of(findings=both)
    described = [both[0], both[1] | {"text": "with a dark centre"}]
    assert "Enlarged (left). Enlarged (right): with a dark centre." in told_of(findings=described)


def test_a_shape_does_not_name_the_finding_again() -> None:
    mass = finding("adrenal.right", "mass", None, number=1, dimensions=["38.5"], shape="mass, poles not separable")
    assert "Mass 1, 38.5 mm, poles not separable." in told_of(findings=[mass])


def test_a_finding_of_another_kind_is_named_by_its_place_and_words() -> None:
    other = finding("gallbladder", "other", "content", text="striations that do not move")
    said = told_of(findings=[other])
    assert "Content: striations that do not move." in said and "Other" not in said


def test_windows_tried_for_a_gap_are_told_with_the_gap_only() -> None:
    printed = " ".join(text.text(made(*samples.of_demo("DP12"))).split())
    assert printed.lower().count("three windows tried: behind the last rib") == 1


def test_a_limit_of_both_sides_is_printed_once_and_one_that_differs_per_side() -> None:
    told = {row["name"]: row["limit"] for row in rows(made(*samples.of_demo("DP01")), "pairs")}
    assert told["Kidney length to aorta"] == "5.5 to 9.1 (dogs)"
    assert told["Adrenal, greatest thickness"] == "LEFT up to 5.5, RIGHT up to 6.8 (dogs over 5 to 10 kg)"
    signs = {row["name"]: row["limit"] for row in rows(made(*samples.of_demo("DP08")), "pairs")}
    words = "LEFT from 3.2 (with the signs recorded); RIGHT up to 8.7 (dogs over 20 to 40 kg)"
    assert signs["Adrenal, greatest thickness"] == words
    hidden = {row["name"]: row["limit"] for row in rows(made(*samples.of_demo("DP12")), "pairs")}
    words = "LEFT up to 7.3 (dogs over 20 to 40 kg); RIGHT no verdict: not seen whole"
    assert hidden["Adrenal, greatest thickness"] == words


def test_what_was_asked_is_never_folded_into_a_line() -> None:
    for name in samples.demo_names():
        told, judged = samples.of_demo(name)
        case = content.Case(told, judged, {}, samples.tables())
        report = made(told, judged)
        shown = {row["name"] for table in ("pairs", "parts") for row in rows(report, table)}
        for value in judged["values"]:
            row = case.quantities[value["quantity"]]
            if row["structure"] in case.asked and not value["derived"] and not value.get("lesion"):
                label = sides.without_side(row["label"])
                assert label in shown or "pole thickness" in label, (name, label)


def test_days_in_the_rules_own_words_are_words() -> None:
    printed = text.text(made(*samples.of_demo("DP05")))
    assert "4.9 kg on 12 February 2026" in " ".join(printed.split())
    assert not re.search(r"\b20\d\d-\d\d-\d\d\b", printed)
