"""The small plots of the report: only of what matters, the same in every form, and in words for who cannot see them."""

import io
import re

import pypdf
import pytest
from flask import Flask
from sqlite_utils import Database

from tests.report import samples
from tests.report.test_content import section
from webapp.report import content, courses, issue, plots
from webapp.report.case import Json

WITH_AN_EARLIER_EXAM = ("DP05", "DP07", "DP09", "DP10")


def made(name: str) -> Json:
    return content.report(*samples.of_demo(name), samples.meta(), samples.tables(), samples.courses_of(name))


def pictures(report: Json) -> list[Json]:
    return [block for one in report["sections"] for block in one["blocks"] if block["kind"] == "plot"]


def test_what_was_asked_and_lies_beyond_a_limit_is_drawn_and_its_poles_are_not_drawn_again() -> None:
    titles = [block["title"] for block in pictures(made("DP05"))]
    assert titles == ["LEFT adrenal, greatest thickness", "RIGHT adrenal, greatest thickness"]


def test_a_lesion_that_was_asked_about_is_drawn_under_its_own_name() -> None:
    titles = [block["title"] for block in pictures(made("DP07"))]
    assert titles == ["LEFT adrenal, greatest thickness", "LEFT adrenal, nodule 1, length"]


@pytest.mark.parametrize("name", samples.demo_names())
def test_without_an_earlier_exam_nothing_is_drawn(name: str) -> None:
    drawn = pictures(made(name))
    assert len(drawn) <= 2
    assert bool(drawn) == (name in WITH_AN_EARLIER_EXAM)


@pytest.mark.parametrize("name", WITH_AN_EARLIER_EXAM)
def test_a_picture_has_all_its_values_in_words_beside_it(name: str) -> None:
    courses = samples.courses_of(name)
    titles = {block["title"]: block["text"] for block in pictures(made(name))}
    shown = [row for row in courses.values() if row["title"] in titles]
    assert shown
    for row in shown:
        for point in row["points"]:
            assert point["value"] in titles[row["title"]]
            assert all(number in titles[row["title"]] for number in point["readings"])


def test_picture_stands_in_the_page_in_the_pdf_with_its_words_and_in_the_text_as_words() -> None:
    told, judged = samples.of_demo("DP05")
    forms = issue.build(told, judged, samples.meta(), samples.tables(), samples.courses_of("DP05"))
    block = pictures(made("DP05"))[0]
    assert plots.drawing(samples.courses_of("DP05")["adrenal.left.maximum_thickness"], courses._HEIGHT) == block["svg"]
    assert str(forms["html"]).count("<svg") == 2
    assert " ".join(block["text"].split()) in " ".join(str(forms["text"]).split())
    assert "<svg" not in str(forms["text"])
    assert [words for words in alternatives(bytes(forms["pdf"])) if block["text"] in words]


def test_every_figure_of_the_pdf_has_words() -> None:
    told, judged = samples.of_demo("DP10")
    forms = issue.build(told, judged, samples.meta(), samples.tables(), samples.courses_of("DP10"))
    figures = alternatives(bytes(forms["pdf"]))
    assert len(figures) == len(pictures(made("DP10"))) and all(len(words) > 40 for words in figures)


def alternatives(document: bytes) -> list[str]:
    """The alternative words of each figure in the PDF's structure."""
    reader = pypdf.PdfReader(io.BytesIO(document))
    found: list[str] = []

    def visit(node: pypdf.generic.PdfObject) -> None:
        node = node.get_object() or pypdf.generic.NullObject()
        if isinstance(node, pypdf.generic.ArrayObject):
            for child in node:
                visit(child)
        elif isinstance(node, pypdf.generic.DictionaryObject):
            if node.get("/S") == "/Figure":
                found.append(str(node.get("/Alt") or ""))
            if "/K" in node:
                visit(node["/K"])

    visit(reader.trailer["/Root"]["/StructTreeRoot"])
    return found


def test_picture_brings_no_style_and_no_script_into_the_page() -> None:
    told, judged = samples.of_demo("DP05")
    html = str(issue.build(told, judged, samples.meta(), samples.tables(), samples.courses_of("DP05"))["html"])
    assert not re.search(r"<(style|script|foreignObject|use)\b|\sstyle=|\son[a-z]+=|href=\"(?!/report-static)", html)


def test_lesions_are_told_then_and_now_without_a_verdict() -> None:
    said = section(made("DP07"), "change")
    assert "LEFT adrenal, nodule 1: largest axis 10.9 mm on 20 April 2026, now 11.2 mm" in said
    assert "how well this repeats is not known" in said


def test_what_is_signed_carries_the_plots(app: Flask, db: Database) -> None:
    """Through the desk's own way: the second exam of an animal whose first was signed."""
    from demo import acts, seed
    from webapp.review import signing
    from webapp.store import exams, reports

    seed.seed(app, "2026-11-20")
    patient = next(row for row in seed.practice()["patients"] if row["id"] == "DP05")
    earlier, later = (acts.exam_id(exam) for exam in patient["exams"])
    with app.app_context():
        assert exams.fold(db, later).earlier
        signing.sign(db, later, {"id": "IF", "name": "I. Ferrow"})
        first, second = (reports.version(db, exam, 1) for exam in (earlier, later))
    assert first and second
    assert "<svg" not in first["html"] and second["html"].count("<svg") == 2
    assert "LEFT adrenal, greatest thickness, exam by exam: 12 Feb 2026: 6.1 mm" in " ".join(second["plain"].split())
