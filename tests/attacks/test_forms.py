"""Every form that a page of the desk shows, sent with what no browser would send: words, never a failing server.

One field after the other is given a value that fits nothing, while the rest stays as the page gave it, so that each
field's own check is reached.
"""

import re
from collections.abc import Callable
from html import unescape
from itertools import cycle, islice
from typing import NamedTuple

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.accounts.desk import address
from tests.builders import EXAM, PATIENT, whole_exam
from tests.conftest import form_token
from webapp.store import journal

ODD = (
    ["9" * 400, "", "\x00", "-1", "1e999", "NaN", "٣", "2026-02-30", "9999-99-99", "a|b|c|d", "|", "\u202e", "é" * 3000]
    + ["{}", "[1]", "%s%n", "' or 1=1 --", "../x", EXAM, PATIENT, "\ufeff", "0" * 16 + ".5"]
)
EACH = 5  # odd values a field is given, the first always among them; all fields together are given all
FORM = re.compile(r"<form\b([^>]*)>(.*?)</form>", re.DOTALL)
FIELD = re.compile(r"<(input|textarea|select|button)\b([^>]*)>")
# What differs between pages of one kind: ids, days, numbers.
ID = re.compile(r"[0-9a-f-]{20,}|\d+(?:-\d+)*")
# These end the session or the person that the others need; passwords may be tried five times a minute.
LEFT_OUT = ("/sign", "/account", "/people/RD")


class Form(NamedTuple):
    """Where a form goes, and what its fields hold as the page gave them."""

    action: str
    fields: dict[str, str]


def attributes(tag: str) -> dict[str, str]:
    return {name: unescape(value) for name, value in re.findall(r'([\w-]+)="([^"]*)"', tag)}


def read(page: str, where: str) -> list[Form]:
    """The posting forms of a page."""
    found = []
    for head, body in FORM.findall(page):
        given = attributes(head)
        action = given.get("action") or where
        if given.get("method") != "post" or action.startswith(LEFT_OUT):
            continue
        fields = {}
        for match in FIELD.finditer(body):
            field = attributes(match[2])
            option = re.search(r'<option[^>]*value="([^"]+)"', body[match.end():])
            value = option[1] if match[1] == "select" and option else field.get("value", "")
            if field.get("name", "csrf_token") != "csrf_token":
                fields[field["name"]] = "a text" if match[1] == "textarea" else value
        found.append(Form(action, fields))
    return found


def forms(app: Flask, browser: FlaskClient) -> list[Form]:
    """Every kind of form on the pages that open, and on those they lead to."""
    known: dict[tuple[str, tuple[str, ...]], Form] = {}
    looked: set[str] = set()
    waiting = [address(rule) for rule in app.url_map.iter_rules() if "GET" in (rule.methods or set())]
    for where in waiting:
        kind = ID.sub("ID", where.split("?")[0])
        if kind in looked or where.startswith(("/api", "/build", *LEFT_OUT)):
            continue
        looked.add(kind)
        answer = browser.get(where, buffered=True)
        if answer.mimetype == "text/html":
            waiting += [unescape(link) for link in re.findall(r'href="(/[^"#]*)"', answer.text)]
            for form in read(answer.text, where):
                known.setdefault((ID.sub("ID", form.action.split("?")[0]), tuple(sorted(form.fields))), form)
    return list(known.values())


@pytest.mark.slow
def test_no_field_of_any_form_makes_the_server_fail(
    app: Flask, db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    token = form_token(browser.get("/account/password").text)
    found = forms(app, browser)
    assert len(found) >= 14, [form.action for form in found]
    values, tried = cycle(ODD[1:]), 0
    for form in found:
        for name in form.fields:
            for odd in [ODD[0], *islice(values, EACH - 1)]:
                answer = browser.post(form.action, data=form.fields | {"csrf_token": token, name: odd})
                assert answer.status_code < 500, (form.action, name, odd[:60])
                tried += 1
    assert tried > 300
    assert browser.get("/review").status_code == 200
