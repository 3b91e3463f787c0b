"""/exchange: lists as CSV, records and requests as FHIR."""

import json
import re
from typing import Any

from flask import Blueprint, Response, abort, render_template, request, stream_with_context

from webapp.animals import find
from webapp.exchange import calendar, csv_out, fhir_out
from webapp.exchange import readings_csv as readings
from webapp.keeping import animal_out
from webapp.store import animals, erasures, recommendations
from webapp.store.db import get_db, read
from webapp.visits import plan

blueprint = Blueprint("exchange", __name__, url_prefix="/exchange", template_folder="templates",
                      static_folder="static")


@blueprint.after_request
def not_kept(response: Response) -> Response:
    if request.endpoint != "exchange.static":
        response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.get("")
def page() -> str:
    """What can be taken in and given out."""
    return render_template("exchange/page.html")


def _file(text: str, mimetype: str, name: str) -> Response:
    answer = Response(text, mimetype=mimetype)
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@blueprint.get("/animals.csv")
def animals_csv() -> Response:
    """All records."""
    with read(get_db()) as db:
        return _file(csv_out.animals(db), "text/csv", "animals.csv")


@blueprint.get("/visits.csv")
def visits_csv() -> Response:
    """The visits of a day."""
    day = request.args.get("day", "")
    with read(get_db()) as db:
        listed = plan.of_day(db, day)
    return _file(csv_out.visits(listed), "text/csv", f"visits-{re.sub('[^0-9-]', '', day) or 'waiting'}.csv")


@blueprint.get("/exams.csv")
def exams_csv() -> Response:
    """The queue."""
    with read(get_db()) as db:
        return _file(csv_out.exams(db), "text/csv", "exams.csv")


@blueprint.get("/readings.csv")
def readings_csv() -> Response:
    """Readings, a row each: of an exam, an animal, a day, or all."""
    db = get_db()
    exam, animal, day = (request.args.get(name, "") for name in ("exam", "animal", "day"))
    if exam:
        names, stem = [exam], f"readings-exam-{exam[:8]}"
    elif animal:
        names, stem = readings.of_animal(db, animal), f"readings-animal-{animal[:8]}"
    elif day:
        names, stem = readings.of_day(db, day), f"readings-{day}"
    else:
        names, stem = readings.everything(db), "readings-all"
    answer = Response(stream_with_context(readings.lines(db, names)), mimetype="text/csv")
    answer.headers["Content-Disposition"] = f'attachment; filename="{re.sub("[^0-9A-Za-z-]", "", stem)}.csv"'
    return answer


@blueprint.get("/rechecks.ics")
def rechecks() -> Response:
    """Re-checks with their days as a calendar; of an exam, an animal or some days where asked. `ended`: only the
    cancellations of those that were settled or dropped."""
    asked = {name: request.args.get(name) or None for name in ("exam", "animal", "first", "last")}
    only_ended = request.args.get("ended") == "only"
    with read(get_db()) as db:
        rows = recommendations.ended(db, asked["first"], asked["last"])
        if not only_ended:
            rows += [row for row in recommendations.due(db, asked["first"], asked["last"]) if not row["state"]]
        patients = animals.one_with(db, [asked["animal"]]) if asked["animal"] else None
    rows = [row for row in rows if asked["exam"] in (None, row["exam"])
            and (patients is None or row["patient"] in patients)]
    method = calendar.CANCEL if only_ended else calendar.PUBLISH
    text = calendar.written(rows, request.args.get("details") == "yes", method)
    return _file(text, calendar.MIME, "rechecks-cancelled.ics" if only_ended else "rechecks.ics")


@blueprint.get("/patients.json")
def patients_file() -> Response:
    """All records as one Bundle of Patients."""
    with read(get_db()) as db:
        made = [fhir_out.patient(one["patient"], one["record"]) for one in find.everything(db)]
    return _resource(fhir_out.bundle(made), "patients")


@blueprint.get("/patient/<patient>.json")
def patient_file(patient: str) -> Response:
    """One record as a Patient."""
    record = animals.record(get_db(), patient)
    if record is None:
        abort(404, "There is no record of this animal here.")
    return _resource(fhir_out.patient(patient, record), "patient")


@blueprint.get("/patient/<patient>/journal.json")
def journal_file(patient: str) -> Response:
    """Every entry of an animal and its exams, as `import` and the Records page take it in."""
    with read(get_db()) as db:
        try:
            made = animal_out.journal_file(db, patient)
        except erasures.Unknown as error:
            abort(404, str(error))
    return _file(json.dumps(made, ensure_ascii=False, indent=1), "application/json", "journal.json")


@blueprint.get("/request/<visit>.json")
def request_file(visit: str) -> Response:
    """One visit as a ServiceRequest."""
    try:
        told = plan.as_seen(get_db(), visit)
    except plan.Unknown as error:
        abort(404, str(error))
    return _resource(fhir_out.service_request(told), "request")


def _resource(made: dict[str, Any], name: str) -> Response:
    text = json.dumps(made, ensure_ascii=False, indent=1)
    return _file(text, "application/fhir+json", f"{name}.json")
