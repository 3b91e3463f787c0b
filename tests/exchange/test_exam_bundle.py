"""An issued report as a FHIR document: valid by the reference library, whole by our own rules, exact to the digit.

Checked against fhir.resources (R4B, which for these resources is R4) and hl7.org/fhir/R4 (documents, Observation).
"""

import base64
import hashlib
import json
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone
from tests.exchange.signed import added, of_demo, readings, signed
from tests.report import samples
from webapp.exchange import exam_bundle, fhir_json
from webapp.store import journal, reports

Enter = Callable[..., FlaskClient]
Json = dict[str, Any]
UNITS = {"mm", "cm/s", "mL", "1", "{score}"}
REPORT_STATUS = {"registered", "partial", "preliminary", "final", "amended", "corrected", "appended", "cancelled",
                 "entered-in-error", "unknown"}


def taken(browser: FlaskClient, version: int = 1) -> Json:
    answer = browser.get(f"/exchange/exam/{EXAM}/{version}/fhir.json")
    assert answer.status_code == 200 and answer.mimetype == "application/fhir+json"
    found: Json = json.loads(answer.text, parse_float=Decimal, parse_int=Decimal)
    return found


def resources(bundle: Json, kind: str) -> list[Json]:
    return [one["resource"] for one in bundle["entry"] if one["resource"]["resourceType"] == kind]


def everything(value: Any) -> Iterator[Json]:
    if isinstance(value, dict):
        yield value
    for item in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from everything(item)


def check(bundle: Json) -> None:
    """What the library does not look at: the rules of a document and of an Observation, and what we promise."""
    Bundle.model_validate(bundle)
    assert bundle["type"] == "document" and bundle["identifier"]["system"] and bundle["identifier"]["value"]
    assert bundle["timestamp"][19:] and bundle["entry"][0]["resource"]["resourceType"] == "Composition"
    addresses = [one["fullUrl"] for one in bundle["entry"]]
    assert len(set(addresses)) == len(addresses)
    refers = {one["reference"] for one in everything(bundle) if "reference" in one}
    assert refers <= set(addresses), "every reference resolves inside the bundle"
    reached = {one["reference"] for one in everything(bundle["entry"]) if "reference" in one}
    provenance = {one["fullUrl"] for one in bundle["entry"] if one["resource"]["resourceType"] == "Provenance"}
    assert set(addresses) - reached <= {addresses[0]} | provenance, "and nothing lies in it that nothing leads to"
    for one in resources(bundle, "Observation"):
        assert one["status"] in ("preliminary", "final", "entered-in-error")
        assert ("dataAbsentReason" in one) != any(name.startswith("value") for name in one), one
        for row in one.get("referenceRange", []):
            assert row["text"] and ("low" in row or "high" in row) and row["type"]["text"].startswith("published")
            assert row["appliesTo"][0]["text"]
        for told in one.get("interpretation", []):
            assert {code["code"] for code in told.get("coding", [])} <= {"H", "L"} and told["text"]
    for one in everything(bundle):
        if one.get("system") == "http://unitsofmeasure.org":
            assert one["code"] in UNITS and isinstance(one["value"], Decimal)
        assert all(value not in (None, "", [], {}) for value in one.values()), one
    for one in resources(bundle, "Patient"):
        urls = [part["url"] for part in one["extension"][0]["extension"]]
        assert urls.count("species") == 1
    (report,) = resources(bundle, "DiagnosticReport")
    assert report["status"] in REPORT_STATUS and report["code"]["text"]


def test_a_signed_exam_is_given_whole_and_exact(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    bundle = taken(browser)
    check(bundle)
    by_id = {one["id"]: one for one in resources(bundle, "Observation")}
    kept = readings(db)
    assert len(kept) == 8
    for row in kept:
        given = by_id[row["id"]]
        assert str(given["valueQuantity"]["value"]) == row["value"], "digit for digit, 6.40 as 6.40"
        assert given["valueQuantity"]["code"] == row["unit"]
        assert given["code"]["coding"][0]["code"] == row["about"] and given["bodySite"]["text"]
        assert given["performer"][0]["display"] == "VS"
        assert "referenceRange" not in given and "interpretation" not in given, "a limit stands beside the mean"
    (wrong,) = [one for one in by_id.values() if one["status"] == "entered-in-error"]
    assert wrong["note"] == [{"text": "struck: point forgotten"}]
    (report,) = resources(bundle, "DiagnosticReport")
    assert not any(one["reference"].endswith(wrong["id"]) for one in report["result"])
    assert len(report["result"]) == len(by_id) - 1
    cm = next(one for one in by_id.values() if one["code"]["coding"][0]["code"] == "kidney.left.length"
              and one["method"]["text"].startswith("ultrasound"))
    with_image = [one["valueQuantity"]["value"] for one in by_id.values()
                  if {"text": "the machine's image number: 12"} in one.get("note", [])]
    assert [str(value) for value in with_image] == ["6.2", "6.40"]
    assert {"text": "typed as 5.210 cm"} in cm["note"] and "long axis" in cm["method"]["text"]


def test_a_mean_names_its_readings_its_limit_with_source_and_what_the_rules_said(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    bundle = taken(browser)
    frozen = json.loads((reports.version(db, EXAM, 1) or {})["judgement_json"])
    (flag,) = [one for one in frozen["flags"] if one["kind"] == "above_limit"]
    (value,) = [one for one in resources(bundle, "Observation") if "interpretation" in one]
    assert value["code"]["coding"][0]["code"] == flag["about"]
    assert value["interpretation"][0]["coding"][0]["code"] == "H"
    assert flag["text"] in value["interpretation"][0]["text"] and str(value["valueQuantity"]["value"]) == flag["value"]
    (limit,) = value["referenceRange"]
    assert str(limit["high"]["value"]) == flag["limit"]["upper"] and flag["source"] in limit["text"]
    assert flag["limit"]["class_words"] == limit["appliesTo"][0]["text"]
    inside = {one["fullUrl"]: one["resource"] for one in bundle["entry"]}
    inputs = [inside[one["reference"]] for one in value["derivedFrom"]]
    pole = next(one for one in inputs if "caudal" in one["code"]["text"])
    assert [str(inside[one["reference"]]["valueQuantity"]["value"]) for one in pole["derivedFrom"]] == ["6.2", "6.40"]
    assert pole["component"][0]["valueInteger"] == 2
    assert all("normal" not in json.dumps(one.get("interpretation", "")).lower()
               for one in resources(bundle, "Observation"))


def test_what_was_not_seen_has_no_value_and_no_normal(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    told = {one["code"]["text"]: one for one in resources(taken(browser), "Observation")}
    pole = told["Seen or not: RIGHT adrenal, cranial pole"]
    assert pole["dataAbsentReason"] == {
        "coding": [{"system": "http://terminology.hl7.org/CodeSystem/data-absent-reason", "code": "unknown"}],
        "text": "not seen (gas)"}
    assert told["Seen or not: Pancreas"]["dataAbsentReason"]["coding"][0]["code"] == "not-performed"
    assert told["Seen or not: Liver"]["valueString"] == "seen, recorded as normal"
    assert told["Seen or not: LEFT adrenal"]["valueString"] == "seen"
    assert told["Spleen"]["dataAbsentReason"]["text"].endswith("not recorded"), "nobody's entry is told, too"
    assert told["LEFT adrenal, capsule"]["valueString"] == "smooth"
    assert told["Note: LEFT adrenal"]["valueString"].endswith("bright \x01."), "words are never changed"
    lesion = told["Lesion, length (Liver 1)"]
    assert lesion["bodySite"]["text"] == "Liver" and str(lesion["valueQuantity"]["value"]) == "9.3"


def test_the_document_holds_question_answer_plan_signer_and_the_very_files(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    bundle = taken(browser)
    row = reports.version(db, EXAM, 1) or {}
    (report,) = resources(bundle, "DiagnosticReport")
    assert (report["status"], report["conclusion"]) == ("final", "Both glands seen; the LEFT one is thick.")
    pdf, plain = (base64.b64decode(one["data"]) for one in report["presentedForm"])
    assert hashlib.sha256(pdf).hexdigest() == row["pdf_hash"] and plain.decode() == row["plain"]
    question, plan = resources(bundle, "ServiceRequest")
    assert question["reasonCode"] == [{"text": "Drinks a lot: are the adrenal glands large?"}]
    assert (plan["intent"], plan["occurrenceDateTime"], plan["code"]["text"]) == (
        "proposal", "2027-02-24", "Measure again")
    assert plan["bodySite"] == [{"text": "LEFT kidney"}] and plan["note"] == [{"text": "plane: long axis"}]
    (patient,) = resources(bundle, "Patient")
    assert patient["name"] == [{"text": "Pepper"}] and patient["identifier"][0]["value"] == "276098106123456"
    (provenance,) = resources(bundle, "Provenance")
    names = [one["what"]["identifier"]["value"] for one in provenance["entity"]]
    sums = [base64.urlsafe_b64decode(one.removeprefix("ni:///sha-256;") + "=").hex() for one in names]
    assert sums == [row["pdf_hash"], row["html_hash"], row["judgement_hash"], row["tables_hash"], row["signed_id"]]
    assert provenance["agent"][0]["who"]["display"] == "R. Dale" and provenance["recorded"] == row["issued_at"]


@pytest.mark.parametrize("status, composed, relates", [
    ("amended", "amended", "replaces"), ("corrected", "amended", "replaces"), ("appended", "amended", "appends")])
def test_a_later_version_says_what_it_is_why_and_what_it_follows(
    db: Database, sign_in: Enter, status: str, composed: str, relates: str
) -> None:
    browser = sign_in()
    vet = signed(db, browser)
    first = taken(browser)
    added(vet, status, "image looked at again", "LEFT gland 6.6 mm.")
    bundle = taken(browser, 2)
    check(bundle)
    (report,) = resources(bundle, "DiagnosticReport")
    (composition,) = resources(bundle, "Composition")
    assert (report["status"], composition["status"]) == (status, composed)
    assert composition["relatesTo"][0]["code"] == relates
    assert composition["relatesTo"][0]["targetIdentifier"]["value"] == first["identifier"]["value"]
    assert resources(bundle, "Provenance")[0]["reason"] == [{"text": "image looked at again"}]
    assert any("LEFT gland 6.6 mm." in one["text"]["div"] for one in composition["section"])
    assert taken(browser) == first, "what was issued stays what it was"


@pytest.mark.parametrize("name", samples.demo_names())
def test_every_invented_exam_makes_a_sound_document_that_drops_no_reading(name: str) -> None:
    issued = of_demo(name)
    text = fhir_json.written(exam_bundle.document(issued, "An invented practice", snomed=True))
    bundle = json.loads(text, parse_float=Decimal, parse_int=Decimal)
    check(bundle)
    given = {one["id"]: str(one["valueQuantity"]["value"]) for one in resources(bundle, "Observation")
             if "valueQuantity" in one}
    assert {row["id"]: row["value"] for row in issued.exam["readings"]}.items() <= given.items()
    shown = {one["code"]["text"] for one in resources(bundle, "Observation")}
    assert {f"Seen or not: {issued.case.label(row['about'])}" for row in issued.exam["states"]} <= shown


def test_snomed_codes_go_out_only_where_the_practice_says_so(app: Flask, db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    sites = "http://snomed.info/sct"
    rest = [one["resource"] for one in taken(browser)["entry"] if one["resource"]["resourceType"] != "Patient"]
    assert [one for one in everything(rest) if one.get("system") == sites] == []
    app.config["SNOMED"] = "on"
    kidney = next(one for one in resources(taken(browser), "Observation")
                  if one["code"]["coding"][0]["code"] == "kidney.left.length")
    assert {"system": sites, "code": "64033007", "display": "Kidney"} in kidney["bodySite"]["coding"]
    assert {"system": sites, "code": "410668003", "display": "Length"} in kidney["code"]["coding"]
    assert kidney["bodySite"]["text"] == "LEFT kidney", "words go out in any case"


def test_an_entry_that_could_not_be_read_is_told(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    phone = Phone("b2" * 16)
    phone.read("spleen.thickness", "14.0", typed="13.0")
    journal.append(db, phone.written, "phone")
    signed(db, browser)
    (composition,) = resources(taken(browser), "Composition")
    (section,) = [one for one in composition["section"] if one["title"] == "Kept and not read"]
    assert "its value 14.0 is not what was typed: 13.0" in section["text"]["div"]


def test_only_who_may_read_reports_takes_one_and_the_audit_says_so(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    page = signed(db, browser).look().page
    address = f"/exchange/exam/{EXAM}/1/fhir.json"
    assert f'href="{address}"' in page
    browser.get(address)
    acts = [(row["act"], row["subject"]) for row in db.query("select * from audit")]
    assert ("exam_files.fhir", f"exam {EXAM} version 1") in acts
    assert browser.get(address.replace("/1/", "/9/")).status_code == 404


def test_a_number_in_json_keeps_its_digits_and_a_float_is_refused() -> None:
    made = fhir_json.written({"a": [Decimal("6.20"), Decimal("1E+2"), True, None, 7, "6.20\x00\u2028"], "b": {}})
    assert '6.20,' in made and json.loads(made) == {"a": [6.2, 100, True, None, 7, "6.20\x00\u2028"], "b": {}}
    for wrong in (0.1, Decimal("NaN"), object()):
        with pytest.raises(TypeError):
            fhir_json.written({"a": wrong})
