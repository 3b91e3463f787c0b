"""/account/ways: one's own order of structures and short words, for the phone; changed here only.

A short word stands for words of the strict reader and is read as they are: it holds no number, and where the reader
knows it already it is refused, so that no known word ever changes its meaning.
"""

import json
import re
from typing import Any

from flask import Blueprint, flash, redirect, render_template, url_for
from flask_wtf import FlaskForm
from sqlite_utils import Database
from werkzeug.wrappers import Response as AnyResponse
from wtforms import SubmitField, TextAreaField
from wtforms.validators import Length

from webapp import clock, rules
from webapp.accounts.own import here
from webapp.store import ways
from webapp.store.db import get_db

blueprint = Blueprint("ways", __name__, url_prefix="/account", template_folder="templates")

MOST_PHRASES = 60
LONGEST = 200
SHORT = re.compile(r"[a-z]{2,16}")


class WaysForm(FlaskForm):
    """Both lists as lines of text."""

    order = TextAreaField("Order of structures, one a line", [Length(max=4000)])
    phrases = TextAreaField("Own short words, one a line: short = words", [Length(max=20_000)])
    submit = SubmitField("Keep")


@blueprint.route("/ways", methods=["GET", "POST"])
def page() -> AnyResponse | str | tuple[str, int]:
    """Show and keep them."""
    db, person, form = get_db(), here(), WaysForm()
    if not form.is_submitted():
        return _page(_filled(db, person["id"]))
    if not form.validate():
        return _page(form), 422
    order, order_errors = read_order(form.order.data or "")
    phrases, phrase_errors = read_phrases(form.phrases.data or "")
    if order_errors or phrase_errors:
        form.order.errors, form.phrases.errors = order_errors, phrase_errors
        return _page(form), 422
    kept = ways.keep(db, person["id"], {"order": order, "phrases": phrases}, clock.now().isoformat(timespec="seconds"))
    flash("Kept. Phones take it over between exams." if kept else "Nothing had changed.", "good")
    return redirect(url_for("ways.page"))


def read_order(text: str) -> tuple[list[str], list[str]]:
    """Ids in the order of the lines (labels or ids), and what is wrong, in sentences."""
    known: dict[str, str] = {}
    for row in rules.worded()["catalogue"]["structures"]:
        known[row["label"].casefold()] = known[row["id"]] = row["id"]
    found: list[str] = []
    errors = []
    for line in filter(None, (" ".join(line.split()) for line in text.splitlines())):
        name = known.get(line.casefold())
        if name is None:
            errors.append(f"“{line}” is no structure: write it as it stands on the phone.")
        elif name in found:
            errors.append(f"“{line}” stands twice.")
        else:
            found.append(name)
    return found, errors


def read_phrases(text: str) -> tuple[dict[str, str], list[str]]:
    """{short: words} of the lines, and what is wrong, in sentences."""
    found: dict[str, str] = {}
    errors = []
    for line in filter(None, (" ".join(line.split()) for line in text.splitlines())):
        short, equals, words = (part.strip() for part in line.partition("="))
        short = short.casefold()
        problem = _problem(short, words, found) if equals else f"“{line}” has no =: write it as short = words."
        if problem:
            errors.append(problem)
        else:
            found[short] = words
    if len(found) > MOST_PHRASES:
        errors.append(f"There are {len(found)} short words; {MOST_PHRASES} are the most.")
    return found, errors


def _problem(short: str, words: str, found: dict[str, str]) -> str | None:
    if not SHORT.fullmatch(short):
        return f"“{short}” is no short word: 2 to 16 letters."
    if short in found:
        return f"“{short}” stands twice."
    if not words or len(words) > LONGEST:
        return f"“{short}” needs words, {LONGEST} characters at most."
    if re.search(r"\d", words):
        return f"“{short}” stands for a number: numbers are said each time."
    if _is_known(short):
        return f"“{short}” means something to the reader already: take another short word."
    return None


def _is_known(short: str) -> bool:
    """Whether it is a word of the strict reader's vocabulary, or understood by itself."""
    if short in re.findall(r"[a-z]+", json.dumps(rules.tables()["vocabulary"]).casefold()):
        return True
    for species in ("dog", "cat"):
        answer: dict[str, Any] = rules.call({"do": "phrase", "text": short, "species": species, "unit": "mm"})
        if answer["proposals"] or answer["sticky"] or answer["left_over"].strip().casefold() != short:
            return True
    return False


def _filled(db: Database, person: str) -> WaysForm:
    now = ways.of(db, person)
    labels = {row["id"]: row["label"] for row in rules.worded()["catalogue"]["structures"]}
    rest = [name for name in labels if name not in now["order"]]
    order = "\n".join(labels[name] for name in [*now["order"], *rest] if name in labels)
    phrases = "\n".join(f"{short} = {words}" for short, words in now["phrases"].items())
    return WaysForm(formdata=None, data={"order": order, "phrases": phrases})


def _page(form: WaysForm) -> str:
    return render_template("accounts/ways.html", form=form)
