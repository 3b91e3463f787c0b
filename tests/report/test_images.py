"""The machine's image numbers stand in a report where somebody may want the picture; a normal one stays one page."""

import io
from itertools import count
from typing import Any

import pypdf
import pytest

from tests.report import samples
from webapp.report import content, issue, text


def with_images(told: samples.Json, *given: str | None) -> samples.Json:
    """The readings with these numbers in their order; each with one of its own from 11 on where none are given."""
    numbers = iter(given) if given else (str(one) for one in count(11))
    return told | {"readings": [row | {"image": next(numbers)} for row in told["readings"]]}


def line(told: samples.Json, judged: samples.Json) -> str:
    """What the report says of images, "" where it says nothing."""
    report = content.report(told, judged, samples.meta(), samples.tables())
    blocks = [block for section in report["sections"] for block in section["blocks"]]
    found = [block["text"] for block in blocks if str(block.get("label")).startswith("Images")]
    assert len(found) < 2
    return found[0] if found else ""


def test_flagged_readings_name_their_image_beside_the_value_where_it_was_read_on_several() -> None:
    told, judged = samples.hidden_pole()
    told |= {"question": told["question"] | {"structures": []}}
    one = "RIGHT adrenal: caudal pole thickness image "
    assert line(with_images(told, "12", "12", "12"), judged) == f"{one}12."
    assert line(with_images(told, "12", "12", "13"), judged) == f"{one}12 (7.4, 7.1), 13 (8.9)."
    assert line(with_images(told, None, None, "13"), judged) == f"{one}13 (8.9)."
    assert line(told, judged) == ""
    struck = with_images(told, "12", "12", "13")
    struck["readings"][2] |= {"struck": True}
    assert line(struck, judged) == f"{one}12."


def test_what_was_found_names_the_images_of_its_sizes() -> None:
    told, judged = samples.of_demo("DP06")
    numbers = [row | {"image": "31" if row["lesion"] == "adrenal.right#1" else None} for row in told["readings"]]
    said = line(told | {"readings": numbers}, judged)
    assert said == "RIGHT adrenal, mass 1: length image 31, height image 31, width image 31."


def test_what_was_asked_has_its_numbers_in_a_row_and_the_rest_none() -> None:
    told, judged = samples.of_demo("DP04")
    said = line(with_images(told), judged)
    assert said == "Stomach: 15; Duodenum: 16 to 18; Jejunum: 19 to 25; Ileum and ileocolic junction: 26."


def test_numbers_are_told_as_they_were_given() -> None:
    told, judged = samples.hidden_pole()
    calm = samples.judgement(values=judged["values"])
    for given, said in (
        (("7", "8", "9"), "7 to 9"), (("8", "7", "9"), "8, 7 and 9"), (("07", "08", "09"), "07, 08 and 09"),
        (("9", "9", "10"), "9 and 10"), (("still 3fa8c0d1e2f3", "4", None), "still 3fa8c0d1e2f3 and 4"),
    ):  # fmt: skip
        assert line(with_images(told, *given), calm) == f"Adrenal: RIGHT {said}."
    whole = told | {"fields": {"adrenal.right.images": ["3"], "adrenal.left.images": ["2"], "spleen.images": ["1"]}}
    assert line(with_images(whole, "4", "5", "9"), calm) == "Adrenal: LEFT 2, RIGHT 3 to 5 and 9."


def pages(told: samples.Json, judged: samples.Json, **facts: Any) -> int:
    made = issue.build(told, judged, samples.meta(**facts), tables=samples.tables())
    return len(pypdf.PdfReader(io.BytesIO(bytes(made["pdf"]))).pages)


@pytest.mark.parametrize("name", ["DP01", "DP02", "DP03", "DP04"])
def test_a_normal_animal_with_an_image_of_every_reading_stays_on_one_page(name: str) -> None:
    told, judged = samples.of_demo(name)
    assert pages(with_images(told), judged) == 1


def test_every_form_tells_them() -> None:
    told, judged = samples.of_demo("DP06")
    made = issue.build(with_images(told), judged, samples.meta(), tables=samples.tables())
    words = "RIGHT adrenal, mass 1: length image 47 (38.2)"
    assert words in " ".join(str(made["text"]).split()) and words in str(made["html"])
    printed = " ".join(one.extract_text() for one in pypdf.PdfReader(io.BytesIO(bytes(made["pdf"]))).pages)
    assert words in " ".join(printed.replace("\u200b", "").split())
    bare = content.report(*samples.of_demo("DP01"), samples.meta(), samples.tables())
    assert "Images (" not in text.text(bare)
