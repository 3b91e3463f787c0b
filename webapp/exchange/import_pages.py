"""/exchange/import: a file sent, looked at, its columns and dates settled, previewed, taken in with progress."""

from typing import Any

from flask import Blueprint, Flask, abort, current_app, flash, jsonify, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_wtf import FlaskForm
from flask_wtf.file import FileField, FileRequired
from werkzeug.datastructures import MultiDict
from wtforms import RadioField, StringField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import InputRequired, Length

from webapp.animals.routes import author
from webapp.exchange import columns, importing, jobs, meanings, tables
from webapp.exchange.ready import Choices, Plan
from webapp.store.db import get_db

blueprint = Blueprint("imports", __name__, url_prefix="/exchange/import", template_folder="templates")

MOST_SHOWN = 200
ROWS_SHOWN = 8


class UploadForm(FlaskForm):
    """A file and what it holds."""

    kind = RadioField("The file holds", [InputRequired("Say what the file holds.")],
                      choices=[SelectChoice(name, words) for name, words in columns.KINDS.items()])
    label = StringField("Whose numbers these are", [Length(max=60)])
    file = FileField("File: CSV, or FHIR R4 as JSON", [FileRequired("Choose a file.")])


class ChoicesForm(FlaskForm):
    """The token alone: what the columns hold comes as `column-<n>`."""


@blueprint.after_request
def not_kept(response: Any) -> Any:
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.route("", methods=["GET", "POST"])
def upload_page() -> ResponseReturnValue:
    """Send a file. Nothing is taken in yet."""
    form = UploadForm()
    if not form.validate_on_submit():
        return render_template("exchange/upload.html", form=form)
    data = form.file.data.read()
    label = " ".join((form.label.data or "").split())
    job = jobs.begin(_app(), data, (form.file.data.filename or "file")[-120:], Choices(form.kind.data, label))
    return redirect(url_for("imports.job_page", job=job.name))


@blueprint.route("/<job>", methods=["GET", "POST"])
def job_page(job: str) -> ResponseReturnValue:
    """What the file looks like, what must be chosen, what taking it in would do; or how far it is."""
    known = _job(job)
    told = known.told
    form = ChoicesForm()
    if told["state"] in ("running", "done"):
        return render_template("exchange/running.html", job=job, told=told)
    if form.validate_on_submit():
        known.choose(_chosen(request.form, known.choices))
        return redirect(url_for("imports.job_page", job=job))
    choices = known.choices
    unreadable, look, plan = "", None, None
    try:
        look = importing.look(known.data, choices)
        plan = importing.plan(get_db(), known.data, choices) if not look.asks else None
    except tables.Unreadable as error:
        unreadable = str(error)
    return render_template(
        "exchange/job.html",
        job=job,
        told=told,
        form=form,
        choices=choices,
        look=look,
        unreadable=unreadable,
        plan=plan,
        shown=_shown(plan),
        rows=look.table.rows[:ROWS_SHOWN] if look and look.table else [],
        known=columns.KNOWN[look.kind if look else choices.kind],
        kinds=columns.KINDS,
        encodings=tables.ENCODINGS,
        separators=tables.SEPARATORS,
        orders=meanings.ORDERS,
        most=MOST_SHOWN,
    )


@blueprint.post("/<job>/take")
def take(job: str) -> ResponseReturnValue:
    """Take the file in, as it was previewed."""
    known = _job(job)
    if not ChoicesForm().validate_on_submit():
        abort(400, "The form was not this page's.")
    if known.told["state"] in ("running", "done"):
        flash("This file is taken in already.", "note")
    else:
        jobs.start(_app(), known, author())
    return redirect(url_for("imports.job_page", job=job))


@blueprint.get("/<job>/progress")
def progress(job: str) -> ResponseReturnValue:
    """How far it is, for the page that waits."""
    told = _job(job).told
    return jsonify({name: told.get(name) for name in ("state", "what", "done", "total")})


def _chosen(sent: MultiDict[str, str], before: Choices) -> Choices:
    """What the form says; a list of columns only where the page showed one."""
    mapping = {sent[f"name-{place}"]: sent.get(f"column-{place}", "")
               for place in range(500) if f"name-{place}" in sent}
    return Choices(
        kind=sent.get("kind", before.kind) if sent.get("kind") in columns.KINDS else before.kind,
        label=" ".join(sent.get("label", "").split())[:60],
        encoding=sent.get("encoding", ""),
        separator={"tab": "\t"}.get(sent.get("separator", ""), sent.get("separator", "")),
        order=sent.get("order", ""),
        unit="lb" if sent.get("unit") == "lb" else "kg",
        # Another kind of file or another separator makes other columns: they are read from the heading again.
        mapping={name: field for name, field in mapping.items() if field}
        if mapping and sent.get("kind") == before.kind and sent.get("separator_was") == sent.get("separator")
        and sent.get("encoding_was") == sent.get("encoding") else None,
    )


def _shown(plan: Plan | None) -> dict[str, Any]:
    if plan is None:
        return {}
    changed = [change for change in plan.changes if change.what == "changed"]
    twins = [change for change in plan.changes if change.what == "new" and change.words]
    return {
        "problems": plan.problems[:MOST_SHOWN],
        "changed": changed[:MOST_SHOWN],
        "changed_in_all": len(changed),
        "twins": twins[:MOST_SHOWN],
        "twins_in_all": len(twins),
    }


def _job(name: str) -> jobs.Job:
    found = jobs.find(_app(), name)
    if found is None:
        abort(404, "This file is not here any more: send it again.")
    return found


def _app() -> Flask:
    return current_app._get_current_object()  # type: ignore[attr-defined,no-any-return]
