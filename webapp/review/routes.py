"""The desk's pages: the queue, one exam, and what is done there."""

import json
from typing import Any

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from webapp import rules
from webapp.accounts import kept as typed
from webapp.photos import clips
from webapp.review import (
    asked,
    asking,
    at_desk,
    drafting,
    forms,
    limits_told,
    procedures,
    queue,
    second_reading,
    settling,
    side_by_side,
    signing,
    telling,
    trends,
    words,
)
from webapp.review import content as contents
from webapp.review import request as requests
from webapp.store import animals, exams, kept, overlays, people, reports
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
    """All exams with the reasons to look at them, filtered and searched as the address says."""
    wanted, db = asked.read(request.args), get_db()
    with read(db):
        shown = queue.page(db, wanted)
        known = {row["id"]: row["name"] for row in people.everyone(db)}
        species = [row["species"] for row in db.query("select distinct species from exams where species is not null")]
    looked_for = asked.sentence(wanted, queue.GROUPS, known)
    choices = {
        "reason": [(kind, text) for kind, (_, text) in words.REASONS.items()],
        "species": [(one, one) for one in sorted(species)],
        "person": list(known.items()),
    }
    return render_template("review/queue.html", shown=shown, asked=wanted, looked_for=looked_for, choices=choices)


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
        made = drafting.record(get_db(), exam, _draft(form), at_desk.person()["id"], form.seen.data)
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
        own = drafting.record(db, exam, _draft(form), at_desk.person()["id"], form.seen.data)
        version = signing.sign(db, exam, at_desk.person(), form.seen.data, own, form.judged_by.data)
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
    """Record which of two versions holds, or a third one."""
    form = forms.SettleForm()
    if not form.validate_on_submit():
        return _show(exam, settle_form=form, told=["Choose the version that holds, or write another one."])
    db, who, slot, seen = get_db(), at_desk.person()["id"], form.slot.data, form.seen.data
    try:
        if form.chosen.data:
            settling.settle(db, exam, slot, form.chosen.data, who, seen)
        else:
            said = {"state": form.state.data, "text": form.text.data}
            settling.settle_anew(db, exam, slot, said, who, seen)
    except (drafting.Signed, drafting.Unknown, ValueError) as error:
        return _show(exam, settle_form=form, told=[str(error)])
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
    words_of_it = (form.reason.data.strip(), forms.lines(form.text.data).strip(), (form.stands.data or "").strip())
    addendum = signing.Addendum(form.status.data, *words_of_it, forms.recommended(form), forms.ended(form))
    try:
        version = signing.add(get_db(), exam, at_desk.person(), addendum, form.seen.data)
    except signing.DoNotFit as error:
        told = ["Not signed yet: mend the addendum, or say below why it stands as written.", *error.missing]
        return _show(exam, addendum_form=form, told=told, unlike=error.missing)
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
    settle_form: forms.SettleForm | None = None,
    told: list[str] | None = None,
    unlike: list[str] | None = None,
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
        after = reports.arrived_after(db, exam)
        late = [contents.entry_line(entry) for entry in after]
        course = trends.of(db, exam, folded, {entry["id"] for entry in after})
        visit = requests.of_exam(db, folded.exam, entries)
        others = side_by_side.others(db, exam, folded.exam)
        standing = animals.roots(db, [folded.exam["patient_id"]]) if folded.exam["patient_id"] else {}
        frozen = reports.version(db, exam, issued[-1]["version"]) if issued else None
    elsewhere = [row for row in folded.exam["signed"] if row["id"] not in {one["signed_id"] for one in issued}]
    common: dict[str, Any] = {"exam": exam, "issued": issued, "late": late, "told": told or [], "elsewhere": elsewhere}
    common |= {"visit": visit, "others": others, "unlike": unlike or []}
    judged_by = frozen["limits_version"] if frozen else folded.judgement["limits_version"]
    common["addenda"] = contents.addenda(folded.exam)
    common["attached"] = clips.attached(db, exam, folded.exam["attachments"])
    common |= {"label": words.label, "moment": words.moment}
    common |= telling.shown(db, exam, folded) | second_reading.shown(folded.exam)
    common |= procedures.shown(folded.exam)
    common["moved"] = contents.moved(folded.exam)
    common["asked"] = asking.shown(folded.exam)
    common["animal_record"] = standing.get(folded.exam["patient_id"])
    common["limits_told"] = limits_told.lines(entries, judged_by, in_force)
    if frozen is not None:
        shown = contents.content(
            json.loads(frozen["exam_json"]), json.loads(frozen["judgement_json"]), course, common["attached"]
        )
        addendum_form = addendum_form or forms.AddendumForm(formdata=None)
        # The page now shows what came meanwhile: sent again, the addendum has seen it.
        addendum_form.seen.raw_data = None
        addendum_form.seen.data = folded.through
        forms.offer(addendum_form, shown["recommendations"])
        return render_template("review/exam.html", shown=shown, addendum_form=addendum_form, **common)
    shown = contents.content(folded.exam, folded.judgement, course, common["attached"])
    if draft_form is None:
        draft_form = forms.DraftForm(formdata=None)
        forms.fill(draft_form, shown, folded.through)
    draft_form.seen.raw_data = None
    draft_form.seen.data = folded.through
    draft_form.judged_by.raw_data = None
    draft_form.judged_by.data = judged_by
    return render_template(
        "review/exam.html",
        shown=shown,
        draft_form=draft_form,
        settle_form=settle_form or forms.SettleForm(formdata=None),
        states=settling.states(),
        seen=folded.through,
        reasons=forms.ACKNOWLEDGEMENTS,
        missing=signing.missing(folded),
        **common,
    )


def _draft(form: forms.DraftForm) -> drafting.Draft:
    answers = {tuple(row.form.flag.data.rsplit("|", 1)): row.form.reason.data or "" for row in form.answers}
    return drafting.Draft(
        answered=form.answered.data or None,
        impression=forms.lines(form.impression.data or ""),
        recommendations=forms.recommended(form),
        answers={(key[0], key[-1]): reason for key, reason in answers.items()},
        second_read=bool(form.second_read.data),
    )
