"""Signed exams for tests of what is given out: one by the desk's own pages, and the invented ones of the demo."""

import json
from typing import Any

from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone
from tests.report import samples
from tests.review.desk import Vet
from webapp.exchange.issued_exam import Issued
from webapp.store import journal, reports


def signed(db: Database, browser: FlaskClient) -> Vet:
    """A signed exam of a dog that holds every kind of record: struck, converted, not seen, found, not recorded."""
    phone = Phone()
    phone.opened(microchip="276098106123456", birth_date="2017-09-01")
    for value in ("6.2", "6.40"):
        phone.read("adrenal.left.caudal_pole_thickness", value, plane="long_axis", image="12")
    wrong = phone.read("adrenal.left.caudal_pole_thickness", "64")
    phone.act("struck", {"about": "adrenal.left.caudal_pole_thickness", "why": "point forgotten"}, of=[wrong])
    phone.act("read", {"about": "kidney.left.length", "value": "52.10", "unit": "mm", "typed": "5.210",
                       "typed_unit": "cm", "plane": "long_axis"})
    phone.read("adrenal.right.caudal_pole_thickness", "4.4")
    phone.read("portal_vein.velocity", "15.3", "cm/s")
    phone.read("kidney.left.resistive_index", "0.65", "1")
    phone.read("lesion.length", "9.3", lesion="liver#1")
    phone.seen("adrenal.right.cranial_pole", "not_seen", ["gas"])
    phone.seen("adrenal.left", "whole")
    phone.seen("pancreas", "not_examined", ["time"])
    phone.seen("liver", "whole", normal=True)
    phone.act("found", {"about": "liver", "finding": "nodule", "part": "left", "number": 1, "dimensions": ["9.3"],
                        "unit": "mm"})
    phone.act("noted", {"about": "adrenal.left", "text": "Capsule <smooth> & bright \x01."})
    phone.act("set", {"about": "adrenal.left.capsule", "value": ["smooth"]})
    phone.closed()
    journal.append(db, phone.written, "phone")
    vet = Vet(browser)
    vet.fill(**{"recommendations-0-text": "Measure again", "recommendations-0-due": "2027-02-24",
                "recommendations-0-who": "R. Dale", "recommendations-0-part": "kidney.left",
                "recommendations-0-plane": "long_axis"}).sign()
    return vet


def added(vet: Vet, status: str, reason: str, text: str) -> None:
    """A further version."""
    answer = vet.look().fill(status=status, reason=reason, text=text).post("addend")
    assert answer.status_code == 302, answer.text


def of_demo(name: str) -> Issued:
    """The newest exam of an invented animal as if it had just been signed."""
    exam, judgement = samples.of_demo(name)
    row: dict[str, Any] = {
        "exam": exam["id"], "version": 1, "status": "final", "signer": json.dumps({"id": "IF", "name": "I. Ferrow"}),
        "issued_at": samples.ISSUED, "exam_json": json.dumps(exam), "judgement_json": json.dumps(judgement),
        "pdf": b"%PDF-1.7 as issued", "plain": "As issued.", "html": "<p>As issued.</p>", "signed_id": "ab" * 32,
        "limits_version": judgement["limits_version"], "tables_hash": "cd" * 32, "core_version": "1",
    }
    return Issued(row | reports.hashes(row), [], [])


def readings(db: Database) -> list[dict[str, Any]]:
    """The readings of the journal itself, struck ones too, not by way of any export."""
    query = "select id, body from entries where exam = ? and json_extract(header, '$.kind') = 'read' order by arrival"
    return [json.loads(row["body"]) | {"id": row["id"]} for row in db.query(query, [EXAM])]
