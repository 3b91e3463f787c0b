"""The desk's pages: the queue, one exam, and what is done there."""

import json
from typing import Any

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from webapp import rules
from webapp.accounts import kept as typed
from webapp.accounts import person_here
from webapp.review import content as contents
from webapp.review import drafting, forms, limits_told, queue, signing, words
from webapp.store import animals, exams, kept, overlays, reports
from webapp.store.db import get_db, read

blueprint = Blueprint(
    "review", __name__, template_folder="templates", static_folder="static", static_url_path="/review/static"
)

Page = str | Response | tuple[str, int]


@blueprint.get("/favicon.ico")
def icon() -> Response:
    """The desk's icon, for the pages that name none."""
    return blueprint.send_static_file("icon.svg")


@blueprint.get("/review")
def queue_page() -> str:
    """All exams with the reasons to look at them."""
    everything = request.args.get("all") == "1"
    return render_template("review/queue.html", groups=queue.groups(get_db(), everything))


@blueprint.get("/review/exam/<exam>")
def exam_page(exam: str) -> Page:
    """One exam: as recorded, or as signed with what arrived since."""
    return _show(exam)


@blueprint.post("/review/exam/<exam>/draft")
def draft(exam: str) -> Page:
    """Keep what the vet has written."""
    form = forms.DraftForm()
    if not form.validate_on_submit():
        return _show(exam, draft_form=form, told=["Not saved yet: see what is marked below."])
    try:
        made = drafting.record(get_db(), exam, _draft(form), _person()["id"], form.seen.data)
    except drafting.Signed as error:
        return typed.page(str(error)), 409
    except LookupError as error:
        abort(404, str(error))
    flash("Saved." if made else "Nothing had changed.", "good")
    return redirect(url_for("review.exam_page", exam=exam))


@blueprint.post("/review/exam/<exam>/sign")
def sign(exam: str) -> Page:
    """Keep what the vet has written, then sign; or say what is missing."""
    form = forms.DraftForm()
    if not form.validate_on_submit():
        return _show(exam, draft_form=form, told=["Not signed yet: see what is marked below."])
    db = get_db()
    try:
        own = drafting.record(db, exam, _draft(form), _person()["id"], form.seen.data)
        version = signing.sign(db, exam, _person(), form.seen.data, own)
    except drafting.Signed as error:
        return typed.page(f"{error} Nothing of yours was signed."), 409
    except signing.CannotSign as error:
        return _show(exam, told=["Saved, but not signed yet:", *error.missing])
    except LookupError as error:
        abort(404, str(error))
    flash(f"Signed: version {version} is kept and can no longer change.", "good")
    return redirect(url_for("review.exam_page", exam=exam))


@blueprint.post("/review/exam/<exam>/settle")
def settle(exam: str) -> Page:
    """Record which of two versions holds."""
    form = forms.SettleForm()
    if not form.validate_on_submit():
        return _show(exam, told=["Choose the version that holds."])
    try:
        drafting.settle(get_db(), exam, form.slot.data, form.chosen.data, _person()["id"], form.seen.data)
    except (drafting.Signed, drafting.Unknown) as error:
        return _show(exam, told=[str(error)])
    except LookupError as error:
        abort(404, str(error))
    flash("Settled. Both versions stay readable in the record.", "good")
    return redirect(url_for("review.exam_page", exam=exam))


@blueprint.post("/review/exam/<exam>/addend")
def addend(exam: str) -> Page:
    """Sign a further version with a reason."""
    form = forms.AddendumForm()
    if not form.validate_on_submit():
        return _show(exam, addendum_form=form, told=["Not signed yet: see what is marked below."])
    addendum = signing.Addendum(form.status.data, form.reason.data.strip(), _lines(form.text.data).strip())
    try:
        version = signing.add(get_db(), exam, _person(), addendum, form.seen.data)
    except signing.CannotSign as error:
        return _show(exam, addendum_form=form, told=["Not signed:", *error.missing])
    except LookupError as error:
        abort(404, str(error))
    flash(f"Signed: version {version}. The versions before it stay readable.", "good")
    return redirect(url_for("review.exam_page", exam=exam))


def _show(
    exam: str,
    draft_form: forms.DraftForm | None = None,
    addendum_form: forms.AddendumForm | None = None,
    told: list[str] | None = None,
) -> str:
    """The exam page. A form that was posted and not taken comes back as it was typed."""
    db = get_db()
    with read(db):
        try:
            folded = exams.fold(db, exam)
        except LookupError as error:
            abort(404, str(error))
        except rules.RulesError as error:
            lines = [contents.entry_line(row.entry) for row in kept.of_exam(db, exam)]
            return render_template("review/not_read.html", trouble=str(error), lines=lines)
        issued = [row | {"at": words.moment(row["issued_at"])} for row in reports.versions(db, exam)]
        entries = [row.entry for row in kept.of_exam(db, exam)]
        in_force = rules.limits_version(overlays.in_force(db))
        late = [contents.entry_line(entry) for entry in reports.arrived_after(db, exam)]
        standing = animals.roots(db, [folded.exam["patient_id"]]) if folded.exam["patient_id"] else {}
        frozen = reports.version(db, exam, issued[-1]["version"]) if issued else None
    elsewhere = [row for row in folded.exam["signed"] if row["id"] not in {one["signed_id"] for one in issued}]
    common: dict[str, Any] = {"exam": exam, "issued": issued, "late": late, "told": told or [], "elsewhere": elsewhere}
    judged_by = frozen["limits_version"] if frozen else folded.judgement["limits_version"]
    common["addenda"] = contents.addenda(folded.exam)
    common["moved"] = contents.moved(folded.exam)
    common["animal_record"] = standing.get(folded.exam["patient_id"])
    common["limits_told"] = limits_told.lines(entries, judged_by, in_force)
    if frozen is not None:
        shown = contents.content(json.loads(frozen["exam_json"]), json.loads(frozen["judgement_json"]))
        addendum_form = addendum_form or forms.AddendumForm(formdata=None)
        # The page now shows what came meanwhile: sent again, the addendum has seen it.
        addendum_form.seen.raw_data = None
        addendum_form.seen.data = folded.through
        return render_template("review/exam.html", shown=shown, addendum_form=addendum_form, **common)
    shown = contents.content(folded.exam, folded.judgement)
    if draft_form is None:
        draft_form = forms.DraftForm(formdata=None)
        forms.fill(draft_form, shown, folded.through)
    draft_form.seen.raw_data = None
    draft_form.seen.data = folded.through
    return render_template(
        "review/exam.html",
        shown=shown,
        draft_form=draft_form,
        settle_form=forms.SettleForm(formdata=None),
        seen=folded.through,
        reasons=forms.ACKNOWLEDGEMENTS,
        missing=signing.missing(folded),
        **common,
    )


def _draft(form: forms.DraftForm) -> drafting.Draft:
    rows = [row.form for row in form.recommendations]
    answers = {tuple(row.form.flag.data.rsplit("|", 1)): row.form.reason.data or "" for row in form.answers}
    return drafting.Draft(
        answered=form.answered.data or None,
        impression=_lines(form.impression.data or ""),
        recommendations=[
            {
                "text": row.text.data.strip(),
                "due": forms.due_day(row.due.data) if (row.due.data or "").strip() else None,
                "who": (row.who.data or "").strip(),
            }
            for row in rows
            if (row.text.data or "").strip()
        ],
        answers={(key[0], key[-1]): reason for key, reason in answers.items()},
    )


def _lines(text: str) -> str:
    """A form's text with the line ends that entries use."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _person() -> dict[str, Any]:
    person = person_here()
    if person is None:
        abort(401)
    return person
