"""An issued report as a FHIR R4 document: a Bundle that begins with a Composition and holds all that it refers to.

Sources: hl7.org/fhir/R4 (Bundle documents 3.3, Composition, DiagnosticReport, Observation, Provenance), extension
patient-animal, hashes named by RFC 6920. Made from what was kept at signing; the same version gives the same document,
and another name to one that lacks a picture.
"""

import base64
import re
from collections.abc import Sequence
from datetime import datetime
from html import escape

from webapp.exchange import codes, fhir_out, fhir_pictures
from webapp.exchange.fhir_observations import Observations, address, concept, reference
from webapp.exchange.fhir_pictures import Picture
from webapp.exchange.issued_exam import Issued
from webapp.exchange.told_exam import Json
from webapp.report import wording

TITLE = "Ultrasound examination of the abdomen"
PARTICIPANT = "http://terminology.hl7.org/CodeSystem/provenance-participant-type"
TEXT = "text/plain; charset=utf-8"
URI = "urn:ietf:rfc:3986"
# A Composition knows fewer words than a DiagnosticReport, which has our own.
COMPOSITION_STATUS = {"preliminary": "preliminary", "final": "final"}
RELATES = {"appended": "appends"}
_INSTANT = re.compile(r".*(Z|[+-][0-9]{2}:[0-9]{2})")


def document(issued: Issued, practice: str, snomed: bool, pictures: Sequence[Picture] = ()) -> Json:
    """The Bundle of one issued version. `practice` = the name that stands for who keeps the record; `pictures` =
    fhir_pictures.of: those with bytes go along, of the others it is said why they do not."""
    made = Observations(issued, snomed).all()
    media = [fhir_pictures.media(issued, one) for one in pictures if one.data is not None]
    rest = [
        _diagnostic_report(issued, made, media),
        _patient(issued),
        {"resourceType": "Organization", "id": issued.name("practice"), "name": practice},
        *_people(issued),
        *([_request(issued)] if _asked(issued) else []),
        *(one for name in ("values", "readings", "seen", "open", "findings", "struck") for one in made[name]),
        *_recommended(issued),
        *media,
        _provenance(issued),
    ]
    entries = [_composition(issued, made, pictures), *rest]
    # A document is named by what it holds: without the pictures it is another one.
    short = [one.row["id"] for one in pictures if one.data is None]
    name = issued.name("bundle", issued.version, *short)
    return {
        "resourceType": "Bundle",
        "id": name,
        "identifier": {"system": URI, "value": f"urn:uuid:{name}"},
        "type": "document",
        "timestamp": instant(issued.row["issued_at"]),
        "entry": [{"fullUrl": address(one["id"]), "resource": one} for one in entries],
    }


def instant(text: str) -> str:
    """A moment as FHIR's instant: with seconds and an offset."""
    return text if _INSTANT.fullmatch(text) else datetime.fromisoformat(text).astimezone().isoformat(timespec="seconds")


def hash_uri(sha256: str) -> str:
    """A SHA-256 (hex) as the name of what has it: RFC 6920."""
    return "ni:///sha-256;" + base64.urlsafe_b64encode(bytes.fromhex(sha256)).decode().rstrip("=")


def _names(issued: Issued) -> Json:
    """Which document this is: the same for every version of it."""
    return {"system": URI, "value": f"urn:uuid:{issued.name('report')}"}


def _composition(issued: Issued, made: dict[str, list[Json]], pictures: Sequence[Picture]) -> Json:
    exam = issued.exam
    composition: Json = {
        "resourceType": "Composition",
        "id": issued.name("composition", issued.version),
        "identifier": _names(issued),
        "status": COMPOSITION_STATUS.get(issued.status, "amended"),
        "type": concept("Report of an ultrasound examination", codes.document()),
        "subject": reference(issued.animal),
        "date": instant(issued.row["issued_at"]),
        "author": [_signer(issued)],
        "title": f"{TITLE}, {issued.status}, version {issued.version}",
        "custodian": reference(issued.name("practice")),
        "event": [{"code": [{"text": TITLE}], "period": {"start": exam["date"]}}] if exam["date"] else [],
        "attester": [{"mode": "professional", "time": instant(issued.row["issued_at"]), "party": _signer(issued)}],
        "section": _sections(issued, made, pictures),
    }
    if issued.status == "preliminary":
        del composition["attester"]  # nobody has signed
    if issued.before:
        earlier = {"system": URI, "value": f"urn:uuid:{issued.name('bundle', issued.before[-1]['version'])}"}
        composition["relatesTo"] = [{"code": RELATES.get(issued.status, "replaces"), "targetIdentifier": earlier}]
    return {name: value for name, value in composition.items() if value != []}


def _sections(issued: Issued, made: dict[str, list[Json]], pictures: Sequence[Picture]) -> list[Json]:
    exam = issued.exam
    question = exam["question"]
    answered = wording.ANSWERED.get(str(question.get("answered")), str(question.get("answered") or "Not yet stated"))
    answer = [f"Question: {question.get('text') or 'none was recorded'}", f"Answered: {answered}",
              f"Impression: {exam['fields'].get('impression') or 'none has been written'}"]
    names = [issued.name("diagnostic report", issued.version)] + ([issued.name("request")] if _asked(issued) else [])
    measured = made["values"] + made["readings"]
    told = [
        _section("The question and the answer", answer, names),
        *([_section("Added after the first signature", [_added(row) for row in issued.addenda], [])]
          if issued.addenda else []),
        _section("What was seen and not seen", _lines(made["seen"]) + _lines(made["open"]),
                 _ids(made["seen"] + made["open"])),
        _section("Measurements", _lines(measured), _ids(measured)),
        _section("Findings", _lines(made["findings"]), _ids(made["findings"])),
        *([_section("Photos and stills", [fhir_pictures.line(issued, one) for one in pictures],
                    [one.row["id"] for one in pictures if one.data is not None])] if pictures else []),
        _section("Struck by hand and not used", _lines(made["struck"]), _ids(made["struck"])),
        *([_section("Kept and not read", [f"{one['kind']}: {one['why']}" for one in exam["unread"]], [])]
          if exam["unread"] else []),
        _section("Recommendations", [_told(row) for row in _recommendations(issued)],
                 [one["id"] for one in _recommended(issued)]),
        _section("How to read this report", list(wording.CAUTIONS), []),
    ]
    return told


def _added(row: Json) -> str:
    why = f"Reason: {row['reason'] or 'none given'}"
    return f"{row['status']}: {row['text'] or 'no words'} {why} ({row['author']}, {row['at']})"


def _section(title: str, lines: list[str], names: list[str]) -> Json:
    body = "".join(f"<p>{escape(_printable(line))}</p>" for line in lines) or "<p>Nothing was recorded.</p>"
    section: Json = {
        "title": title,
        "text": {"status": "generated", "div": f'<div xmlns="http://www.w3.org/1999/xhtml">{body}</div>'},
    }
    return section | ({"entry": [reference(name) for name in names]} if names else {})


def _printable(text: str) -> str:
    """The text without the few characters that XHTML cannot hold; in the resource itself nothing is left out."""
    return "".join(one if one in "\t\n" or ord(one) >= 0x20 and not 0xD800 <= ord(one) <= 0xDFFF
                   and ord(one) & 0xFFFE != 0xFFFE else "\ufffd" for one in text)


def _lines(rows: list[Json]) -> list[str]:
    """Each Observation in one line, in the words that it carries itself."""
    return [f"{row['code']['text']}: {_said(row)}" for row in rows]


def _said(row: Json) -> str:
    if "valueQuantity" in row:
        quantity = row["valueQuantity"]
        at_least = "at least " if quantity.get("comparator") else ""
        pieces = [f"{at_least}{quantity['value']} {quantity.get('unit', '')}".strip(), row["method"]["text"]]
        pieces += [one["text"] for one in row.get("interpretation") or []]
    else:
        pieces = [row["valueString"] if "valueString" in row else row["dataAbsentReason"]["text"]]
    return "; ".join(pieces + [one["text"] for one in row.get("note") or []])


def _ids(rows: list[Json]) -> list[str]:
    return [row["id"] for row in rows]


def _diagnostic_report(issued: Issued, made: dict[str, list[Json]], media: list[Json]) -> Json:
    exam, row = issued.exam, issued.row
    results = [one for name in ("values", "readings", "seen", "open", "findings") for one in made[name]]
    report: Json = {
        "resourceType": "DiagnosticReport",
        "id": issued.name("diagnostic report", issued.version),
        "identifier": [_names(issued)],
        "status": issued.status,
        "category": [concept("Ultrasound", codes.modality())],
        "code": {"text": TITLE},
        "subject": reference(issued.animal),
        "issued": instant(row["issued_at"]),
        "performer": [reference(issued.name("practice"))],
        "result": [reference(one["id"]) for one in results],
        "media": [{"comment": one["content"]["title"], "link": reference(one["id"])} for one in media],
        "presentedForm": [
            _attached(row["pdf"], "application/pdf", "The report as issued, PDF", row["issued_at"]),
            _attached(row["plain"].encode(), TEXT, "The report as issued, text", row["issued_at"]),
        ],
    }
    if issued.status != "preliminary":
        report["resultsInterpreter"] = [_signer(issued)]
    if exam["date"]:
        report["effectiveDateTime"] = exam["date"]
    if exam["fields"].get("impression"):
        report["conclusion"] = exam["fields"]["impression"]
    if _asked(issued):
        report["basedOn"] = [reference(issued.name("request"))]
    return {name: value for name, value in report.items() if value != []}


def _attached(data: bytes, kind: str, title: str, at: str) -> Json:
    return {"contentType": kind, "data": base64.b64encode(data).decode(), "size": len(data), "title": title,
            "creation": instant(at)}


def _patient(issued: Issued) -> Json:
    """The animal as the exam knew it; of the owner an exam knows nothing."""
    facts = issued.exam["patient"]
    record = {name: facts.get(name) for name in
              ("species", "breed", "sex", "neutered", "operation", "birth_date", "microchip")}
    made = fhir_out.patient(issued.animal, record | {"shown": facts.get("name")})
    if not re.fullmatch(r"[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?", str(made.get("birthDate") or "")):
        made.pop("birthDate", None)
    return made


def _signer(issued: Issued) -> Json:
    return reference(issued.name("person", issued.signer["id"]), str(issued.signer["name"]))


def _people(issued: Issued) -> list[Json]:
    """Everyone whom the exam names, by the practice's short name; of the signer also the name as signed."""
    exam = issued.exam
    kinds = ("readings", "states", "findings", "notes", "attachments")
    rows = [row for kind in kinds for row in exam.get(kind) or []] + issued.addenda
    known = dict.fromkeys([issued.signer["id"], *(str(row["author"]) for row in rows if row.get("author"))])
    made = []
    for short in known:
        named = {"name": [{"text": issued.signer["name"]}]} if short == issued.signer["id"] else {}
        made.append({"resourceType": "Practitioner", "id": issued.name("person", short),
                     "identifier": [{"value": short}], **named})
    return made


def _asked(issued: Issued) -> bool:
    question = issued.exam["question"]
    return bool(question.get("text") or question.get("structures"))


def _request(issued: Issued) -> Json:
    """The question that the exam was to answer."""
    question = issued.exam["question"]
    made: Json = {
        "resourceType": "ServiceRequest",
        "id": issued.name("request"),
        "status": "completed",
        "intent": "order",
        "code": {"text": TITLE},
        "subject": reference(issued.animal),
    }
    if question.get("text"):
        made["reasonCode"] = [{"text": question["text"]}]
    if question.get("structures"):
        made["bodySite"] = [{"text": issued.case.label(one)} for one in question["structures"]]
    return made


def _recommendations(issued: Issued) -> list[Json]:
    rows = issued.exam["fields"].get("recommendations") or []
    return [row for row in rows if isinstance(row, dict) and row.get("text")]


def _recommended(issued: Issued) -> list[Json]:
    """Each recommendation as a proposal: what, by which day, by whom."""
    made = []
    for place, row in enumerate(_recommendations(issued), 1):
        one: Json = {
            "resourceType": "ServiceRequest",
            "id": issued.name("recommendation", issued.version, place),
            "status": {"settled": "completed", "dropped": "revoked"}.get(row.get("state") or "", "active"),
            "intent": "proposal",
            "code": {"text": row["text"]},
            "subject": reference(issued.animal),
            "authoredOn": instant(issued.row["issued_at"]),
            "requester": _signer(issued),
        }
        if row.get("due"):
            one["occurrenceDateTime"] = row["due"]
        if row.get("who"):
            one["performer"] = [{"display": row["who"]}]
        if row.get("part"):
            one["bodySite"] = [{"text": issued.case.label(row["part"])}]
        notes = [f"plane: {str(row['plane']).replace('_', ' ')}"] if row.get("plane") else []
        notes += [f"{row['state']}: {row.get('why')}"] if row.get("state") else []
        made.append(one | ({"note": [{"text": note} for note in notes]} if notes else {}))
    return made


def _told(row: Json) -> str:
    ended = f" ({row['state']}: {row.get('why')})" if row.get("state") else ""
    return f"{row['text']}{ended}"


def _provenance(issued: Issued) -> Json:
    """Who answers for this version, and the hashes by which each thing it rests on is known again."""
    row = issued.row
    kind = "author" if issued.status == "preliminary" else "legal"
    hashes = (("the report as issued, PDF", row["pdf_hash"]), ("the report as issued, page", row["html_hash"]),
              ("what the rules said of it", row["judgement_hash"]), ("the tables of limits", row["tables_hash"]),
              ("the journal's entry of the signature", row["signed_id"]))
    reasons = [row["reason"] for row in issued.addenda[-1:] if row["reason"]]
    targets = [issued.name("composition", issued.version), issued.name("diagnostic report", issued.version)]
    made: Json = {
        "resourceType": "Provenance",
        "id": issued.name("provenance", issued.version),
        "target": [reference(name) for name in targets],
        "recorded": instant(row["issued_at"]),
        "activity": {"text": f"issued as {issued.status}, version {issued.version}, by limits {row['limits_version']}, "
                             f"rules {row['core_version']}"},
        "agent": [{"type": {"coding": [{"system": PARTICIPANT, "code": kind}]}, "who": _signer(issued),
                   "onBehalfOf": reference(issued.name("practice"))}],
        "entity": [{"role": "source", "what": {"identifier": {"system": URI, "value": hash_uri(value)},
                                               "display": f"{what}, SHA-256 {value}"}}
                   for what, value in hashes if re.fullmatch("[0-9a-f]{64}", str(value))],
    }
    return made | ({"reason": [{"text": one} for one in reasons]} if reasons else {})
