"""An issued report as a DICOM structured report: Comprehensive SR by template TID 1500, made with highdicom.

A group (TID 1501) for each measure: every reading as a number, then the mean with its limit, the limit's source and
the uncertainty (TID 310). What was not seen is a statement, never a number. A struck reading is a comment: a program
that reads numbers alone would take it for one that counts. Sources: DICOM PS3.16 TID 300, 310, 1500, 1501;
PS3.3 C.7.1.1 (an animal as the patient); PS3.5 B.2 (a UID made of a UUID).

Slow to load (numpy): imported where a report is asked for, never at the start.
"""

import io
import uuid
from datetime import datetime
from typing import Any

from highdicom import sr
from pydicom.dataset import Dataset
from pydicom.sr.codedict import codes as dicom
from pydicom.valuerep import DA, DT, TM, DSfloat

from webapp.core import sentences
from webapp.exchange import codes
from webapp.exchange.issued_exam import Issued
from webapp.exchange.told_exam import Json
from webapp.report import sources, wording
from webapp.review import table as desk_words
from webapp.review import words

MIME = "application/dicom"
LONGEST_MEANING = 64  # of a code's meaning, PS3.5 LO
LONGEST_DECIMAL = 16  # PS3.5 DS
PROCEDURE = ("abdomen", "Ultrasound examination of the abdomen")


def written(issued: Issued, practice: str, snomed: bool) -> bytes:
    """The file's bytes (Part 10, explicit little endian)."""
    made = io.BytesIO()
    document(issued, practice, snomed).save_as(made)
    return made.getvalue()


def document(issued: Issued, practice: str, snomed: bool) -> Any:
    """The structured report of one issued version."""
    at = datetime.fromisoformat(issued.row["issued_at"])
    signed = issued.status != "preliminary"
    person = sr.PersonObserverIdentifyingAttributes(
        name=_person(issued.exam["author"] or issued.signer["id"]), organization_name=practice)
    report = sr.MeasurementReport(
        observation_context=sr.ObservationContext(
            observer_person_context=sr.ObserverContext(dicom.DCM.Person, person)),
        procedure_reported=_own(*PROCEDURE),
        imaging_measurements=_Groups(issued, snomed).all() or None,
        language_of_content_item_and_descendants=sr.LanguageOfContentItemAndDescendants(
            sr.CodedConcept("en", "RFC5646", "English")),
    )
    impression = issued.exam["fields"].get("impression")
    if impression:
        report[0].ContentSequence.append(_text(dicom.DCM.Conclusion, impression, "CONTAINS"))
    made = sr.ComprehensiveSR(
        # highdicom copies the patient and the study from an image; there is none here, and none is named.
        evidence=[_subject(issued, at)],
        content=report,
        series_instance_uid=_uid(issued, "series"),
        series_number=1,
        sop_instance_uid=_uid(issued, "document", issued.version),
        instance_number=issued.version,
        manufacturer="Gelside",
        is_complete=signed,
        is_final=signed,
        is_verified=signed,
        verifying_observer_name=_person(issued.signer["name"]) if signed else None,
        verifying_organization=practice if signed else None,
        institution_name=practice[:LONGEST_MEANING],
        performed_procedure_codes=[_own(*PROCEDURE)],
        record_evidence=False,
        specific_character_set="ISO_IR 192",
        content_date=at.date(),
        content_time=at.time(),
        series_description="Measurements as issued",
    )
    del made.CurrentRequestedProcedureEvidenceSequence
    made.InstanceCreationDate, made.InstanceCreationTime = DA(at.date()), TM(at.time())
    for item in made.ContributingEquipmentSequence:
        item.ContributionDateTime = DT(at)
    made.TimezoneOffsetFromUTC = at.strftime("%z") or "+0000"
    if signed:
        made.VerifyingObserverSequence[0].VerificationDateTime = at.strftime("%Y%m%d%H%M%S%z")
    made.CodingSchemeIdentificationSequence = [_scheme()]
    return made


def _scheme() -> Dataset:
    item = Dataset()
    item.CodingSchemeDesignator = codes.OWN_SCHEME
    item.CodingSchemeName = "Catalogue of Gelside: ids of structures and measures"
    return item


def _subject(issued: Issued, at: datetime) -> Dataset:
    """The animal and the exam as the modules Patient and Study have them; empty where the exam does not know."""
    facts, made = issued.exam["patient"], Dataset()
    made.SpecificCharacterSet = "ISO_IR 192"
    made.PatientID = issued.animal[:LONGEST_MEANING]
    # Before the ^ stands the owner's family name (PS3.3 C.7.1.1.1.4), which an exam does not hold.
    made.PatientName = f"^{_component(facts.get('name'))}" if facts.get("name") else None
    made.PatientBirthDate = _day(facts.get("birth_date"))
    made.PatientSex = {"male": "M", "female": "F"}.get(str(facts.get("sex")), "")
    made.PatientSexNeutered = {True: "ALTERED", False: "UNALTERED"}.get(facts.get("neutered"), "")
    species = codes.species(facts.get("species"))
    made.PatientSpeciesDescription = str(facts.get("species") or "")
    made.PatientSpeciesCodeSequence = [_coded(species)] if species else []
    made.PatientBreedDescription = str(facts.get("breed") or "")[:LONGEST_MEANING]
    made.PatientBreedCodeSequence, made.BreedRegistrationSequence = [], []
    made.ResponsiblePerson, made.ResponsibleOrganization = None, None
    if isinstance(facts.get("age_months"), int) and facts["age_months"] < 1000:
        made.PatientAge = f"{facts['age_months']:03d}M"
    if facts.get("weight_kg"):
        made.PatientWeight = _decimal(facts["weight_kg"])
    made.StudyInstanceUID, made.SeriesInstanceUID = _uid(issued, "study"), _uid(issued, "none")
    made.SOPInstanceUID, made.SOPClassUID = _uid(issued, "none"), "1.2.840.10008.5.1.4.1.1.88.33"
    made.StudyDate, made.StudyTime = _day(issued.exam["date"]), ""
    made.StudyDescription = PROCEDURE[1]
    made.AccessionNumber, made.StudyID, made.ReferringPhysicianName = "", "", None
    return made


class _Groups:
    """The measurement groups of one exam."""

    def __init__(self, issued: Issued, snomed: bool):
        self.issued, self.snomed = issued, snomed

    def all(self) -> list[Any]:
        exam = self.issued.exam
        measured = [*self.issued.judgement["values"]]
        known = {(value["quantity"], value.get("lesion")) for value in measured}
        for row in exam["readings"]:
            if (row["quantity"], row.get("lesion")) not in known:  # every reading of it was struck
                known.add((row["quantity"], row.get("lesion")))
                measured.append({"quantity": row["quantity"], "lesion": row.get("lesion"), "value": None})
        found = [row for row in exam["findings"] if not row["struck"]]
        return [*(self._measured(value) for value in measured), *(self._seen(row) for row in exam["states"]),
                *(self._found(row, place) for place, row in enumerate(found, 1))]

    def _group(self, words_of: str, name: tuple[object, ...], structure: str, **more: Any) -> Any:
        tracking = sr.TrackingIdentifier(uid=_uid(self.issued, *name), identifier=words_of)
        sites = [self._site(structure)] if structure else None
        return sr.MeasurementsAndQualitativeEvaluations(tracking, finding_sites=sites, **more)

    def _site(self, structure: str) -> Any:
        site, side = codes.site(structure, self.snomed), codes.side(structure, self.snomed)
        if site is None:
            return sr.FindingSite(_own(structure, self.issued.case.label(structure)))
        return sr.FindingSite(_coded(site), laterality=_coded(side) if side else None)

    def _measured(self, value: Json) -> Any:
        issued = self.issued
        structure = issued.structure_of(value)
        found = codes.measure(value["quantity"], structure, self.snomed)
        name = _coded(found) if found else _own(value["quantity"], issued.case.label(value["quantity"]))
        numbers = [self._reading(name, row) for row in issued.readings_of(value)]
        if value["value"] is not None:
            numbers.append(self._value(name, value))
        group = self._group(issued.measure_words(value), ("measure", value["quantity"], value.get("lesion") or ""),
                            structure, measurements=numbers)
        for text in self._comments(value):
            group[0].ContentSequence.append(_text(dicom.DCM.Comment, text, "CONTAINS"))
        return group

    def _reading(self, name: Any, row: Json) -> Any:
        made = sr.Measurement(name, float(row["value"]), _unit(row["unit"]))
        _exact(made[0], row["value"])
        if row.get("at"):
            made[0].ObservationDateTime = datetime.fromisoformat(row["at"]).strftime("%Y%m%d%H%M%S%z")
        if row["author"] != self.issued.exam["author"]:
            _add(made[0], sr.PnameContentItem(dicom.DCM.PersonObserverName, _person(row["author"]), "HAS OBS CONTEXT"))
        return made

    def _value(self, name: Any, value: Json) -> Any:
        said = [line for line in self.issued.said(value) if line.get("limit")]
        made = sr.Measurement(
            name, float(value["value"]), _unit(value["unit"]),
            derivation=dicom.SCT.Mean if value.get("n") else dicom.SCT.Calculated,
            properties=self._properties(said[0]) if said else None)
        _exact(made[0], value["value"])
        if value.get("uncertainty") is not None:
            for concept in (dicom.SCT.RangeOfUpperMeasurementUncertainty, dicom.SCT.RangeOfLowerMeasurementUncertainty):
                # highdicom would give it without a unit.
                _add(made[0], _number(concept, value["uncertainty"], value["unit"]))
        return made

    def _properties(self, line: Json) -> Any:
        limit = line["limit"]
        bounds = (("upper", dicom.SCT.NormalRangeUpperLimit), ("lower", dicom.SCT.NormalRangeLowerLimit))
        values = [_number(one, limit[side], limit["unit"]) for side, one in bounds if limit.get(side) is not None]
        told = (wording.with_unit(sources.extent(limit), limit["unit"]), self.issued.class_words(limit),
                self.issued.population(limit), f"published {wording.USE.get(str(limit.get('use')), '')}".strip())
        return sr.MeasurementProperties(normal_range_properties=sr.NormalRangeProperties(
            values, "; ".join(piece for piece in told if piece), self.issued.citation(line)))

    def _comments(self, value: Json) -> list[str]:
        rows = [row for row in self.issued.exam["readings"] if row["struck"] and row["quantity"] == value["quantity"]
                and row.get("lesion") == value.get("lesion")]
        struck = [f"Struck by hand and not used: {row['value']} {wording.unit(row['unit'])} "
                  f"({row['why_struck'] or 'no reason given'})" for row in rows]
        pictures = [f"Reading {row['value']} {wording.unit(row['unit'])}: the machine's image number {row['image']}"
                    for row in self.issued.readings_of(value) if row.get("image") and not row["struck"]]
        at_least = ["At least: a part was not seen or not read."] if value.get("at_least") else []
        if value.get("uncertainty") is not None:
            at_least.append("Uncertainty: expanded, k = 2, of the mean by these readings (JCGM 100:2008).")
        said = [line["text"] + (f" ({line['call']})" if line.get("call") else "") for line in self.issued.said(value)]
        return list(dict.fromkeys([*at_least, *said, *pictures, *struck]))

    def _seen(self, row: Json) -> Any:
        label = self.issued.case.label(row["about"])
        why = ", ".join(self.issued.case.reason(one) for one in row["why"])
        said = sentences.SEEN.get(row["seen"], words.plain(row["seen"]))
        normal = ", recorded as normal" if row["normal"] and row["seen"] == "whole" else ""
        told = sr.QualitativeEvaluation(_own("seen", "Seen or not"), _own(row["seen"], f"{said}{normal}"))
        group = self._group(f"Seen or not: {label}", ("seen", row["about"]), row["structure"],
                            qualitative_evaluations=[told])
        if why:
            group[0].ContentSequence.append(_text(dicom.DCM.Comment, f"{label}: {said} ({why})", "CONTAINS"))
        return group

    def _found(self, row: Json, place: int) -> Any:
        told = sr.QualitativeEvaluation(_own("finding", "Finding"), _own(row["finding"], words.plain(row["finding"])))
        tracked = f"Finding {place}: {self.issued.case.label(row['structure'])}, {words.plain(row['finding'])}"
        group = self._group(tracked, ("finding", row["id"]), row["structure"], qualitative_evaluations=[told])
        group[0].ContentSequence.append(_text(dicom.DCM.Comment, desk_words.finding(row)["text"], "CONTAINS"))
        return group


def _uid(issued: Issued, *what: object) -> str:
    return f"2.25.{uuid.UUID(issued.name('dicom', *what)).int}"


def _own(value: str, meaning: str) -> Any:
    return sr.CodedConcept(value, codes.OWN_SCHEME, meaning[:LONGEST_MEANING])


def _coded(code: codes.Code) -> Any:
    return sr.CodedConcept(code.value, code.scheme, code.meaning)


def _unit(name: str) -> Any:
    return _coded(codes.unit(name))


def _decimal(text: str) -> DSfloat:
    """The decimal text as it stands; cut to what DICOM can hold only where it is longer than 16 characters."""
    return DSfloat(text) if len(text) <= LONGEST_DECIMAL else DSfloat(float(text), auto_format=True)


def _exact(item: Any, text: str) -> None:
    item.MeasuredValueSequence[0].NumericValue = _decimal(text)


def _number(concept: Any, text: str, unit: str) -> Any:
    item = sr.NumContentItem(concept, float(text), _unit(unit), relationship_type="HAS PROPERTIES")
    _exact(item, text)
    return item


def _text(concept: Any, text: str, relation: str) -> Any:
    return sr.TextContentItem(concept, text, relation)


def _add(item: Any, child: Any) -> None:
    if "ContentSequence" not in item:
        item.ContentSequence = sr.ContentSequence()
    item.ContentSequence.append(child)


def _component(name: object) -> str:
    """A name as one component of a DICOM name: the signs that part components stay out."""
    return "".join(" " if one in "^=\\" or ord(one) < 32 else one for one in str(name))[:LONGEST_MEANING]


def _person(name: object) -> str:
    """A person's name as it is written, in the first component: which part is the family name is not guessed."""
    return f"{_component(name)}^"


def _day(text: object) -> str:
    """A whole day as DICOM writes it, "" for anything else."""
    try:
        return datetime.fromisoformat(str(text)).strftime("%Y%m%d")
    except ValueError:
        return ""
