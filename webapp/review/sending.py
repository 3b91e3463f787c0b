"""Sending an issued report without a mail server: a download, the browser's own sharing, or a draft for one's mail.

What travels openly (file names, subjects, the draft's words, the audit) says that it is a report and which one, by
number: no name of an animal or a person, no finding. What is clinical is in the attached file alone.
"""

import re
from email.message import EmailMessage
from email.policy import SMTP
from typing import Any
from urllib.parse import quote

from flask import Blueprint, Response, abort, flash, redirect, render_template, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response as Redirect
from wtforms import BooleanField, SelectChoice, SelectField, StringField
from wtforms.validators import InputRequired, Length, Optional, Regexp

from webapp.review import at_desk
from webapp.review.forms import LONGEST_LINE
from webapp.review.telling import telling as telling_words
from webapp.store import desk, meta, owner_pages, reports
from webapp.store import told as tellings
from webapp.store.db import get_db

blueprint = Blueprint("sending", __name__)

# A plain address; what a mail program would take further (names, several) is written there.
_PIECE = r"[^\s@<>(),;:\"\\\[\]]+"
_ADDRESS = re.compile(rf"{_PIECE}@{_PIECE}\.{_PIECE}\Z")


HOW = ("by e-mail", "by message", "as a file", "on paper")


class DraftForm(FlaskForm):
    """To whom, if it is known already, and with what."""

    to = StringField(
        "E-mail address (may be left empty)",
        [Optional(), Length(max=254), Regexp(_ADDRESS, message="Write one address, such as name@example.org.")],
    )
    with_report = BooleanField("the report", default=True)
    with_owner_page = BooleanField("the page for the owner")


class SentForm(FlaskForm):
    """To whom it went, once it has gone."""

    who = StringField(
        "Sent to (a name, or an address)", [InputRequired("Write to whom you sent it."), Length(max=LONGEST_LINE)]
    )
    how = SelectField("How", choices=[SelectChoice(one) for one in HOW])
    owner_page_too = BooleanField("the page for the owner went along")


@blueprint.get("/report/<exam>/<int:version>/send")
def page(exam: str, version: int) -> str:
    """The ways to send a version."""
    return _show(exam, version, DraftForm(formdata=None))


@blueprint.post("/report/<exam>/<int:version>/sent")
def sent(exam: str, version: int) -> str | Redirect:
    """Record that this version was sent, and to whom: said by the person who did, for nobody else can know."""
    form, db = SentForm(), get_db()
    _issued(exam, version)
    if not form.validate_on_submit():
        return _show(exam, version, DraftForm(formdata=None), sent_form=form)
    who, owner = (form.who.data or "").strip(), form.owner_page_too.data and _owner_page(exam, version)
    telling = tellings.Telling(
        about=tellings.REPORT,
        to=who,
        how=form.how.data,
        when=desk.now(),
        text=f"With the page for the owner, number {owner['number']}." if owner else "",
        version=version,
    )
    tellings.record(db, exam, telling, at_desk.author())
    flash(f"Recorded: version {version} was sent to {who}.", "good")
    return redirect(url_for("sending.page", exam=exam, version=version))


@blueprint.post("/report/<exam>/<int:version>/send")
def draft(exam: str, version: int) -> str | Response:
    """The draft of an e-mail with the PDF in it, as a file that a mail program opens."""
    form = DraftForm()
    attached = _attached(exam, version, form) if form.validate_on_submit() else []
    if not attached:
        return _show(exam, version, form, "" if form.errors else "Choose what to attach.")
    made = message(meta.get(get_db(), "practice"), exam, version, (form.to.data or "").strip(), attached)
    answer = Response(made, content_type="message/rfc822")
    answer.headers["Content-Disposition"] = f'attachment; filename="{_stem(exam, version)}.eml"'
    return answer


def message(practice: str, exam: str, version: int, to: str, attached: list[tuple[str, bytes]]) -> bytes:
    """The draft's bytes: `X-Unsent` lets a mail program open it for writing. `attached` = [(file name, PDF)]."""
    made = EmailMessage(policy=SMTP)
    made["X-Unsent"] = "1"
    if to:
        made["To"] = to
    made["Subject"] = subject(exam, version)
    made.set_content(f"{_body(practice)}\n")
    for name, data in attached:
        made.add_attachment(data, maintype="application", subtype="pdf", filename=name)
    made.set_boundary(f"report-{exam}-{version}")
    return made.as_bytes()


def subject(exam: str, version: int) -> str:
    """Which report, by number alone."""
    return f"Report {exam[:8]}, version {version}"


def _body(practice: str) -> str:
    return f"A report from {' '.join(practice.split())} is attached."


def _stem(exam: str, version: int) -> str:
    return f"report-{exam[:8]}-version-{version}"


def _attached(exam: str, version: int, form: DraftForm) -> list[tuple[str, bytes]]:
    issued, owner = _issued(exam, version), _owner_page(exam, version)
    files = [(f"{_stem(exam, version)}.pdf", bytes(issued["pdf"]))] if form.with_report.data else []
    if owner and form.with_owner_page.data:
        files.append((f"page-{exam[:8]}-{owner['number']}.pdf", bytes(owner["pdf"])))
    return files


def _issued(exam: str, version: int) -> dict[str, Any]:
    row = reports.version(get_db(), exam, version)
    if row is None:
        abort(404, f"No version {version} of this report was issued.")
    return row


def _owner_page(exam: str, version: int) -> dict[str, Any] | None:
    """The page for the owner that is on and goes with this version."""
    last = owner_pages.newest(get_db(), exam)
    if not last or not last["is_on"] or last["version"] != version:
        return None
    return owner_pages.page(get_db(), exam, last["number"])


def _show(exam: str, version: int, form: DraftForm, told: str = "", sent_form: SentForm | None = None) -> str:
    issued, owner = _issued(exam, version), _owner_page(exam, version)
    newest = reports.versions(get_db(), exam)[-1]["version"]
    words = f"A report from {' '.join(meta.get(get_db(), 'practice').split())} follows."
    link = f"mailto:?subject={quote(subject(exam, version))}&body={quote(words)}"
    shown = {"exam": exam, "version": version, "status": issued["status"], "newest": newest, "owner": owner}
    has_it = [row for row in tellings.handed_over(get_db(), exam) if row["version"] == version]
    shown |= {"sent_form": sent_form or SentForm(formdata=None), "sent": [telling_words(row) for row in has_it]}
    return render_template("review/send.html", form=form, told=told, mailto=link, stem=_stem(exam, version), **shown)
