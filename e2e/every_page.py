"""Every page of the desk that links lead to, one address for each route, found by following them from the queue."""

import html
import os
import re
from pathlib import Path
from urllib.parse import urlsplit

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.exceptions import HTTPException

from demo import seed
from tests.conftest import form_token
from webapp import create_app

LINK = re.compile(r'<a\b[^>]*?\bhref="([^"]+)"')
COOKIE = "gelside"


def of_desk(instance: Path) -> tuple[dict[str, str], str]:
    """({route: address}, the session's cookie) of the invented practice in this folder, for who may open everything.

    An exam that is signed is a page of its own, for it shows more.
    """
    app, browser = _signed_in(instance)
    found: dict[str, str] = {}
    waiting = ["/review", *_outside_links(app)]
    seen = set(waiting)
    while waiting:
        where = waiting.pop(0)
        route = _route(app, where)
        if route is None or (route in found and not route.startswith("/review/exam/<exam>")):
            continue
        answer = browser.get(where, buffered=True)
        if answer.mimetype != "text/html" or answer.status_code != 200:
            continue
        route += ", signed" if 'class="issued"' in answer.text else ""
        if route in found:
            continue
        found[route] = where
        links = [html.unescape(one) for one in LINK.findall(answer.text)]
        fresh = [one for one in dict.fromkeys(links) if one.startswith("/") and one not in seen]
        seen.update(fresh)
        waiting += fresh
    cookie = browser.get_cookie(COOKIE)
    assert cookie is not None
    return found, cookie.value


def _signed_in(instance: Path) -> tuple[Flask, FlaskClient]:
    before = os.environ.get("GELSIDE_INSTANCE")
    os.environ["GELSIDE_INSTANCE"] = str(instance)
    try:
        app = create_app()
    finally:
        os.environ.pop("GELSIDE_INSTANCE")
        if before is not None:
            os.environ["GELSIDE_INSTANCE"] = before
    browser = app.test_client()
    person, password = seed.SIGN_IN
    told = {"person": person, "password": password, "csrf_token": form_token(browser.get("/sign-in").text)}
    assert browser.post("/sign-in", data=told).status_code == 302
    return app, browser


def _outside_links(app: Flask) -> list[str]:
    """Pages without a place in their address, for those that no link leads to."""
    return [rule.rule for rule in app.url_map.iter_rules()
            if "GET" in (rule.methods or set()) and not rule.arguments and not rule.rule.startswith(("/api", "/sw"))
            and rule.rule not in ("/", "/sign-in", "/board/next")]


def _route(app: Flask, where: str) -> str | None:
    """The route of an address as it is written in the app, None for what is none."""
    try:
        rule, _ = app.url_map.bind("desk").match(urlsplit(where).path, return_rule=True)
    except HTTPException:
        return None
    return None if rule.endpoint.endswith(".static") else str(rule.rule)
