"""An issued report as a DICOM structured report: read back by pydicom and highdicom, every number by its digits.

Sources: DICOM PS3.16 TID 1500, 1501, 300, 310; the dictionary that pydicom ships (PS3.16 and PS3.6).
"""

import io
import json
import statistics
import subprocess
import sys
from collections.abc import Callable, Iterator
from typing import Any

import highdicom
import pydicom
import pytest
from flask import Flask
from flask.testing import FlaskClient
from pydicom.sr._concepts_dict import concepts
from sqlite_utils import Database

from tests.builders import EXAM
from tests.exchange.signed import added, of_demo, readings, signed
from tests.exchange.test_codes import BEYOND_DICOM
from tests.report import samples
from webapp.exchange import codes, dicom_sr
from webapp.store import reports

Enter = Callable[..., FlaskClient]


def taken(browser: FlaskClient, version: int = 1) -> Any:
    answer = browser.get(f"/exchange/exam/{EXAM}/{version}/report.dcm")
    assert answer.status_code == 200 and answer.mimetype == "application/dicom"
    return read_back(answer.data)


def read_back(data: bytes) -> Any:
    """By both libraries; highdicom looks at the template, pydicom gives the plain data set."""
    highdicom.sr.srread(io.BytesIO(data))
    return pydicom.dcmread(io.BytesIO(data))


def items(data: Any) -> Iterator[Any]:
    for item in data.get("ContentSequence", []):
        yield item
        yield from items(item)


def named(item: Any) -> str:
    code = item.ConceptNameCodeSequence[0]
    return str(code.get("CodeValue") or code.get("LongCodeValue"))


def groups(data: Any) -> dict[str, Any]:
    """The measurement groups (TID 1501) by their tracking identifier."""
    found = {}
    for item in items(data):
        if item.ValueType == "CONTAINER" and named(item) == "125007":
            (tracked,) = [one.TextValue for one in item.ContentSequence if named(one) == "112039"]
            assert tracked not in found
            found[tracked] = item
    return found


def numbers(item: Any) -> list[str]:
    """The decimal texts of the numbers right below."""
    return [str(one.MeasuredValueSequence[0].NumericValue) for one in item.ContentSequence if one.ValueType == "NUM"]


def test_every_number_is_that_of_the_journal_digit_for_digit(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    data = taken(browser)
    found = groups(data)
    assert numbers(found["LEFT adrenal, caudal pole thickness"]) == ["6.2", "6.40", "6.3"], "two readings, their mean"
    assert numbers(found["LEFT kidney, length"]) == ["52.10", "52.1"]
    kept = [row["value"] for row in readings(db) if row["value"] != "64"]
    given = [text for group in found.values() for text in numbers(group)]
    for value in kept:
        given.remove(value)
    struck = [one.TextValue for one in items(data) if one.ValueType == "TEXT" and "Struck" in one.TextValue]
    assert struck == ["Struck by hand and not used: 64 mm (point forgotten)"]
    assert "64" not in [text for group in found.values() for text in numbers(group)]
    pole = found["LEFT adrenal, caudal pole thickness"].ContentSequence
    pictures = [one.TextValue for one in pole if one.ValueType == "TEXT" and "image number" in one.TextValue]
    assert pictures == [f"Reading {value} mm: the machine's image number 12" for value in ("6.2", "6.40")]


def test_a_mean_carries_its_limit_the_source_and_the_site(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    frozen = json.loads((reports.version(db, EXAM, 1) or {})["judgement_json"])
    flag = next(one for one in frozen["flags"] if one["kind"] == "above_limit")
    group = groups(taken(browser))["LEFT adrenal, greatest thickness"]
    (number,) = [one for one in group.ContentSequence if one.ValueType == "NUM"]
    told = {named(one): one for one in number.ContentSequence}
    upper = told["371933006"].MeasuredValueSequence[0]
    assert str(upper.NumericValue) == flag["limit"]["upper"]
    assert upper.MeasurementUnitsCodeSequence[0].CodeValue == "mm"
    assert flag["limit"]["class_words"] in told["121407"].TextValue and flag["source"] in told["121408"].TextValue
    assert "121402" not in told, "normality is for a person to say"
    comments = [one.TextValue for one in group.ContentSequence if named(one) == "121106"]
    assert any(flag["text"] in one for one in comments) and "At least: a part was not seen or not read." in comments
    (site,) = [one for one in group.ContentSequence if named(one) == "363698007"]
    code = site.ConceptCodeSequence[0]
    assert (code.CodeValue, code.CodingSchemeDesignator) == ("adrenal.left", "99GELSIDE")


def test_the_uncertainty_of_a_mean_is_twice_the_standard_one_of_its_readings(db: Database, sign_in: Enter) -> None:
    """JCGM 100:2008, 4.2 and 6.2: by hand from 6.2 and 6.40, never below the project's floor; one reading has none."""
    browser = sign_in()
    signed(db, browser)
    floor = samples.tables()["thresholds"]["spread_floor"]
    standard = max(statistics.stdev([6.2, 6.4]), float(floor["share"]) * 6.3, float(floor["mm"]))
    found = groups(taken(browser))

    def told(name: str) -> list[str]:
        (mean,) = [one for one in found[name].ContentSequence if one.ValueType == "NUM"][-1:]
        return [str(one.MeasuredValueSequence[0].NumericValue) for one in mean.ContentSequence
                if named(one) in ("371886008", "371885007")]

    assert told("LEFT adrenal, caudal pole thickness") == [f"{2 * standard:.2f}"] * 2
    assert told("LEFT kidney, length") == []


def test_the_uncertainty_goes_out_with_its_unit_where_the_rules_know_it() -> None:
    issued = of_demo("DP06")
    for value in issued.judgement["values"]:
        value["uncertainty"] = "0.73"
    data = read_back(dicom_sr.written(issued, "An invented practice", False))
    for name in ("371886008", "371885007"):
        found = [one.MeasuredValueSequence[0] for one in items(data) if named(one) == name]
        assert len(found) == len(issued.judgement["values"])
        assert {str(one.NumericValue) for one in found} == {"0.73"}
    assert found[0].MeasurementUnitsCodeSequence[0].CodeValue == issued.judgement["values"][0]["unit"]


def test_what_was_not_seen_is_said_and_has_no_number(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    found = groups(taken(browser))
    pole = found["Seen or not: RIGHT adrenal, cranial pole"]
    assert numbers(pole) == []
    (told,) = [one.ConceptCodeSequence[0] for one in pole.ContentSequence if named(one) == "seen"]
    assert (told.CodeValue, told.CodeMeaning) == ("not_seen", "not seen")
    assert [one.TextValue for one in pole.ContentSequence if named(one) == "121106"] == [
        "RIGHT adrenal, cranial pole: not seen (gas)"]
    liver = next(one for one in found["Seen or not: Liver"].ContentSequence if named(one) == "seen")
    assert liver.ConceptCodeSequence[0].CodeMeaning == "seen, recorded as normal"


def test_the_patient_is_an_animal_and_the_signature_stands(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    vet = signed(db, browser)
    data = taken(browser)
    assert (data.PatientName.given_name, data.PatientSex, data.PatientSexNeutered) == ("Pepper", "F", "ALTERED")
    assert data.PatientSpeciesCodeSequence[0].CodeValue == "448771007"
    assert (data.PatientBreedDescription, str(data.PatientWeight), data.PatientAge) == (
        "Miniature Schnauzer", "7.2", "110M")
    assert list(data.PatientBreedCodeSequence) == [] and not data.ResponsiblePerson
    assert (data.CompletionFlag, data.VerificationFlag, data.PreliminaryFlag) == ("COMPLETE", "VERIFIED", "FINAL")
    assert str(data.VerifyingObserverSequence[0].VerifyingObserverName) == "R. Dale^"
    assert "CurrentRequestedProcedureEvidenceSequence" not in data, "no image is named that nobody has"
    assert [one.TextValue for one in items(data) if named(one) == "121077"] == [
        "Both glands seen; the LEFT one is thick."]
    again = taken(browser)
    assert again.SOPInstanceUID == data.SOPInstanceUID and again == data, "the same version is the same document"
    added(vet, "amended", "looked again", "LEFT gland 6.6 mm.")
    later = taken(browser, 2)
    assert later.StudyInstanceUID == data.StudyInstanceUID and later.SOPInstanceUID != data.SOPInstanceUID


def sound(data: Any) -> None:
    """Every code is of DICOM's dictionary or ours, every unit of UCUM, every UID well made."""
    for item in items(data):
        for sequence in ("ConceptNameCodeSequence", "ConceptCodeSequence"):
            for code in item.get(sequence, []):
                check(code)
        for measured in item.get("MeasuredValueSequence", []):
            check(measured.MeasurementUnitsCodeSequence[0], "UCUM")
    for uid in (data.StudyInstanceUID, data.SeriesInstanceUID, data.SOPInstanceUID):
        assert pydicom.uid.UID(uid).is_valid
    assert data.ContentTemplateSequence[0].TemplateIdentifier == "1500"


def check(code: Any, scheme: str = "") -> None:
    value = str(code.get("CodeValue") or code.get("LongCodeValue"))
    if scheme:
        assert code.CodingSchemeDesignator == scheme
    if code.CodingSchemeDesignator in (codes.OWN_SCHEME, "RFC5646") or value in BEYOND_DICOM:
        return
    meanings = {told[value][0] for told in concepts[code.CodingSchemeDesignator].values() if value in told}
    assert meanings, f"{code.CodingSchemeDesignator} {value} ({code.CodeMeaning}) is not in the dictionary"


@pytest.mark.parametrize("name, snomed", [*((name, False) for name in samples.demo_names()), ("DP06", True)])
def test_every_invented_exam_makes_a_sound_report_with_every_reading(name: str, snomed: bool) -> None:
    issued = of_demo(name)
    data = read_back(dicom_sr.written(issued, "An invented practice", snomed))
    sound(data)
    given = [text for group in groups(data).values() for text in numbers(group)]
    for row in issued.exam["readings"]:
        if not row["struck"]:
            given.remove(row["value"])
    assert len(given) == len(issued.judgement["values"]), "what is left are the means and what was computed"


def test_snomed_sites_and_measures_go_out_only_where_the_practice_says_so(
    app: Flask, db: Database, sign_in: Enter
) -> None:
    browser = sign_in()
    signed(db, browser)
    app.config["SNOMED"] = "on"
    kidney = groups(taken(browser))["LEFT kidney, length"]
    (site,) = [one for one in kidney.ContentSequence if named(one) == "363698007"]
    assert site.ConceptCodeSequence[0].CodeValue == "64033007"
    (side,) = list(site.ContentSequence)
    assert side.ConceptCodeSequence[0].CodeValue == "7771000"
    assert {named(one) for one in kidney.ContentSequence if one.ValueType == "NUM"} == {"410668003"}


def test_it_stands_beside_the_signed_version_and_in_the_audit(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    page = signed(db, browser).look().page
    address = f"/exchange/exam/{EXAM}/1/report.dcm"
    assert f'href="{address}"' in page and browser.get(address.replace("/1/", "/9/")).status_code == 404
    browser.get(address)
    assert ("exam_files.dicom", f"exam {EXAM} version 1") in [
        (row["act"], row["subject"]) for row in db.query("select * from audit")]


def test_the_server_starts_without_loading_any_of_it() -> None:
    code = ("import sys; from webapp import create_app; create_app({'DATABASE': ':memory:'}); "
            "print([one for one in ('highdicom', 'pydicom', 'numpy', 'PIL') if one in sys.modules])")
    made = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert made.stdout.strip() == "[]"
