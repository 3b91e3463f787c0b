"""Measurements of DICOM reports as proposals: our own report comes back, others in their own words, nothing guessed.

Sources: DICOM PS3.16 TID 300 and 1500; pydicom's test report test-SR.dcm.
"""

import io
import json
from typing import Any

import pydicom
import pytest
from highdicom import sr
from pydicom.dataset import Dataset
from pydicom.sr.codedict import codes as dicom

from tests.exchange.signed import of_demo
from tests.exchange.test_dicom_still import data_of
from tests.report import samples
from webapp.exchange import dicom_in, dicom_measures, dicom_sr
from webapp.exchange.dicom_measures import Proposal


def quantities() -> dict[str, Any]:
    return {row["id"]: row for row in samples.tables()["catalogue"]["quantities"]}


def proposed(data: bytes | Dataset) -> list[Proposal]:
    return dicom_measures.proposals(dicom_in.opened(data) if isinstance(data, bytes) else data, quantities())


def report(*numbers: Any) -> Dataset:
    """A report of any other kind: a container with these numbers."""
    root = sr.ContainerContentItem(dicom.DCM.ImagingMeasurementReport)
    group = sr.ContainerContentItem(dicom.DCM.MeasurementGroup, relationship_type="CONTAINS")
    group.ContentSequence = sr.ContentSequence(numbers)
    root.ContentSequence = sr.ContentSequence([group])
    return root


def number(value: str, unit: tuple[str, str, str] = ("mm", "UCUM", "mm"), name: Any = dicom.SCT.Length) -> Any:
    item = sr.NumContentItem(name, 1.0, sr.CodedConcept(*unit), relationship_type="CONTAINS")
    item.MeasuredValueSequence[0].NumericValue = value
    return item


@pytest.mark.parametrize("snomed", [False, True])
def test_our_own_report_proposes_every_reading_and_none_of_its_limits_and_means(snomed: bool) -> None:
    issued = of_demo("DP06")
    found = proposed(dicom_sr.written(issued, "An invented practice", snomed))
    taken = [one for one in found if not one.refused]
    left = [row["value"] for row in issued.exam["readings"] if not row["lesion"]]
    for row in taken:
        left.remove(row.value)
    assert left == [], "every reading stands among them, and nothing else: no mean, no limit"
    pole = next(one for one in taken if "LEFT adrenal, caudal" in one.words)
    assert pole.quantity == "adrenal.left.caudal_pole_thickness" and pole.unit == "mm"
    lesions = [one for one in found if "a lesion's size" in one.refused]
    assert lesions and all(one.quantity.startswith("lesion.") for one in lesions)
    means = [one for one in found if one.refused and one not in lesions]
    assert len(means) == len([row for row in issued.judgement["values"] if not row.get("lesion")])
    assert all("made from several" in one.refused for one in means)
    assert {one.words.rpartition(": ")[2] for one in means} == {"Mean", "Calculated"}


def test_centimetres_become_millimetres_to_the_digit_and_nothing_else_is_turned() -> None:
    made = proposed(report(
        number("5.210", ("cm", "UCUM", "cm")), number("52.10"), number("0.65", ("1", "UCUM", "no units")),
        number("2", ("[in_i]", "UCUM", "inch")), number("52", ("mm", "99OTHER", "mm")), number("1e3"), number("-4"),
        number("4.2", ("m", "UCUM", "metre")), number("0.5", ("cm2", "UCUM", "cm2"))))
    assert [(one.typed, one.typed_unit, one.value, one.unit) for one in made[:3]] == [
        ("5.210", "cm", "52.10", "mm"), ("52.10", "mm", "52.10", "mm"), ("0.65", "1", "0.65", "1")]
    assert all(one.refused and not one.value for one in made[3:]), "an inch, another's mm, no decimal, a metre, an area"
    assert [one.quantity for one in made] == [""] * 9, "which measure it is, a person says"
    assert made[0].words == "Measurement Group, Length" and made[0].place == 1


def test_words_name_the_site_and_the_side() -> None:
    root = report(number("52.1"))
    site = sr.FindingSite(dicom.SCT.Kidney, laterality=dicom.SCT.Left)
    root.ContentSequence[0].ContentSequence.append(site)
    assert proposed(root)[0].words == "Measurement Group, Kidney Left, Length"


def test_a_report_of_another_program_is_read_in_its_own_words() -> None:
    """pydicom's test-SR.dcm: an ultrasound report with numbers under containers."""
    data = pydicom.dcmread(io.BytesIO(data_of("test-SR.dcm")))
    try:
        found = proposed(data)
    except dicom_in.Unusable as error:
        assert "no number" in str(error)
        assert "NUM" not in str(data)
    else:
        assert all(one.words and one.typed for one in found) and json.dumps(found)


def test_what_cannot_be_read_is_refused_with_a_sentence() -> None:
    with pytest.raises(dicom_in.Unusable, match="no number"):
        proposed(report())
    empty = number("1")
    empty.MeasuredValueSequence = []
    assert proposed(report(empty))[0].refused == "the report says that there is no value"
    broken = number("1")
    del broken.MeasuredValueSequence[0].NumericValue
    with pytest.raises(dicom_in.Unusable, match="damaged"):
        proposed(report(broken))
    deep = number("1")
    for _ in range(40):
        above = sr.ContainerContentItem(dicom.DCM.MeasurementGroup, relationship_type="CONTAINS")
        above.ContentSequence = sr.ContentSequence([deep])
        deep = above
    with pytest.raises(dicom_in.Unusable, match="nested deeper"):
        proposed(report(deep))
