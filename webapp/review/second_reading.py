"""The second read of an exam: another reviewer goes through it structure by structure."""

from typing import Any

from flask import Blueprint, abort, flash, redirect, render_template, url_for
from flask_wtf import FlaskForm
from sqlite_utils import Database
from werkzeug.wrappers import Response
from wtforms import FieldList, Form, FormField, HiddenField, RadioField, SelectChoice, StringField
from wtforms.validators import Length, ValidationError

from webapp.core import second_reads as standing_reads
from webapp.core import sentences
from webapp.review import at_desk, forms, striking, table, words
from webapp.store import exams, second_reads
from webapp.store.db import get_db

blueprint = Blueprint("second_reading", __name__, template_folder="templates")

Page = str | Response | tuple[str, int]
Json = dict[str, Any]

READS = {
    second_reads.AGREE: "agree",
    second_reads.DISAGREE: "disagree",
    second_reads.NOT_READ: "not read",
}


class ReadForm(Form):
    """What the reader makes of one structure; nothing chosen is nothing said."""

    structure = HiddenField()
    reads = RadioField("Second read", choices=[SelectChoice(*one) for one in READS.items()], validate_choice=False)
    text = StringField("In words", [Length(max=forms.LONGEST_LINE)])

    def validate_structure(self, field: HiddenField) -> None:
        if field.data and field.data not in words.structures():
            raise ValidationError("There is no such structure.")

    def validate_reads(self, field: RadioField) -> None:
        if field.data and field.data not in READS:
            raise ValidationError("Choose agree, disagree or not read.")
        if not field.data and (self.text.data or "").strip():
            raise ValidationError("Say whether you agree.")

    def validate_text(self, field: StringField) -> None:
        if self.reads.data == second_reads.DISAGREE and not (field.data or "").strip():
            raise ValidationError("Say what you see otherwise.")


class SecondReadForm(FlaskForm):
    """The whole exam."""

    rows = FieldList(FormField(ReadForm))


@blueprint.after_request
def not_kept(response: Response) -> Response:
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.route("/review/exam/<exam>/second-read", methods=["GET", "POST"])
def page(exam: str) -> Page:
    """What was recorded of each structure, and what this reader makes of it."""
    db = get_db()
    folded = at_desk.exam(db, exam)
    form = SecondReadForm()
    if form.validate_on_submit():
        reads = [
            second_reads.Read(row.form.structure.data, row.form.reads.data, (row.form.text.data or "").strip())
            for row in form.rows
            if row.form.reads.data and row.form.structure.data
        ]
        try:
            made = second_reads.record(db, exam, reads, at_desk.author())
        except second_reads.NotAnother as error:
            flash(str(error), "bad")
        except LookupError as error:
            abort(404, str(error))
        else:
            flash("Your second read is kept with the exam." if made else "Nothing had changed.", "good")
            return redirect(url_for("review.exam_page", exam=exam))
    told = ["Not kept yet: see what is marked below."] if form.errors else []
    if not form.is_submitted():
        _offer(form, folded)
    return render_template("review/second_read.html", exam=exam, form=form, told=told, **_page(db, exam, folded))


def _offer(form: SecondReadForm, folded: exams.Folded) -> None:
    """A row for each structure that something was recorded of, those asked about first, as this reader left it."""
    own = {row["structure"]: row for row in standing_reads.standing(folded.exam) if row["author"] == at_desk.author()}
    while len(form.rows):
        form.rows.pop_entry()
    for name in recorded(folded.exam):
        row = own.get(name, {})
        form.rows.append_entry({"structure": name, "reads": row.get("reads"), "text": row.get("text")})


def recorded(exam: Json) -> list[str]:
    """The structures that something stands of in the exam, in the catalogue's order, those asked about first."""
    names = {row["structure"] for row in exam["states"] + exam["findings"] + exam.get("second_reads", [])}
    quantities = words.quantities()
    names |= {quantities[row["quantity"]]["structure"] for row in exam["readings"] if row["quantity"] in quantities}
    asked = exam["question"].get("structures") or []
    return sorted((name for name in words.structures() if name in names), key=lambda name: name not in asked)


def _page(db: Database, exam: str, folded: exams.Folded) -> Json:
    facts = folded.exam
    return {
        "name": facts["patient"].get("name") or "Animal without a name",
        "animal": words.animal(facts["patient"]),
        "date": words.day(facts["date"]),
        "question": facts["question"].get("text"),
        "impression": facts["fields"].get("impression"),
        "summaries": {name: summary(facts, name) for name in recorded(facts)},
        "labels": {name: words.label(name) for name in recorded(facts)},
        "why_not": second_reads.why_not(db, exam, at_desk.author()),
        "strike_form": striking.StrikeForm(formdata=None),
        "own": [row for row in lines(facts) if row["author"] == at_desk.author()],
    }


def summary(exam: Json, name: str) -> str:
    """What was recorded of a structure, in one line."""
    said = []
    for state in exam["states"]:
        if state["structure"] == name:
            part = f"{words.part_label(name, state['part'])}: " if state["part"] else ""
            why = f" ({', '.join(words.reason(one) for one in state['why'])})" if state["why"] else ""
            normal = ", recorded normal" if state["normal"] else ""
            said.append(f"{part}{sentences.SEEN.get(state['seen'], state['seen'])}{normal}{why}")
    found = [row for row in exam["findings"] if row["structure"] == name and not row["struck"]]
    said += [str(table.finding(row)["text"]) for row in found]
    read: dict[str, list[str]] = {}
    for row in exam["readings"]:
        if not row["struck"] and words.quantities().get(row["quantity"], {}).get("structure") == name:
            read.setdefault(row["quantity"], []).append(str(row["value"]))
    for quantity, values in read.items():
        label = words.label(quantity).removeprefix(f"{words.label(name)}, ")
        said.append(f"{label} {words.amount(', '.join(values), words.quantities()[quantity].get('unit'))}")
    return "; ".join(said)


def lines(exam: Json) -> list[Json]:
    """The second reads that stand, for a page: structure, what was said, words, who and when."""
    return [
        {"label": words.label(row["structure"]), "reads": row["reads"], "said": READS.get(row["reads"], row["reads"])}
        | {"text": row["text"] or "", "who": row["author"], "author": row["author"], "at": words.moment(row["at"])}
        | {"id": row["id"], "struck": False, "why_struck": None}
        for row in standing_reads.standing(exam)
    ]


def shown(exam: Json) -> Json:
    """For the exam's page: by reader what was agreed, differed, left."""
    readers: dict[str, Json] = {}
    for row in lines(exam):
        one = readers.setdefault(row["who"], {"who": row["who"], "agree": [], "disagree": [], "not_read": []})
        one[row["reads"]].append(row)
    return {"second_reads": list(readers.values())}
