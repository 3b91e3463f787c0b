"""Who is here: the person of this session, and the guard before every address."""

import logging
from typing import Any

from flask import abort, current_app, g, redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response

from webapp import clock, incoming
from webapp.accounts import allowed, kept
from webapp.store import people, roles, sessions
from webapp.store.db import get_db

log = logging.getLogger(__name__)

Answer = Response | str | tuple[str, int]

TOKEN = "session"  # noqa: S105  the name of a field
# Where someone may go whose password came from an admin: nowhere before it is changed.
BEFORE_A_PASSWORD = ("account.password", "accounts.sign_out")


def ends() -> sessions.Ends:
    """How long sessions last here."""
    return sessions.Ends(current_app.config["SESSION_IDLE"], current_app.config["PERMANENT_SESSION_LIFETIME"])


def person_here() -> dict[str, Any] | None:
    """The person of this session (id, name, role, must_change, session), read anew for every request, or None."""
    if "person" not in g:
        g.person = _person()
    person: dict[str, Any] | None = g.person
    return person


def _person() -> dict[str, Any] | None:
    token = session.get(TOKEN)
    known = sessions.in_use(get_db(), token, clock.now(), ends()) if isinstance(token, str) else None
    if known is None:
        return None
    person = people.full(get_db(), known["person"])
    if person is None or not person["can_sign_in"]:
        return None
    return {key: person[key] for key in ("id", "name", "role", "must_change")} | {"session": known["id"]}


def may(endpoint: str) -> bool:
    """Whether whoever is here may open this address."""
    person = person_here()
    return allowed.may(roles.held(person["role"]) if person else (), endpoint)


def home() -> str:
    """Where one begins: the exams, or the people for who sees no exam."""
    return url_for("review.queue_page" if may("review.queue_page") else "people.page")


def guard() -> Answer | None:
    """Before every view: let through whom the list lets through. Others are asked to sign in, or told which role
    it needs; what they had typed into a form is shown to them again, so that it is not lost."""
    if request.endpoint is None:
        return None
    door = allowed.door(request.endpoint)
    if door is None:
        log.error("%s is missing in webapp/accounts/allowed.py", request.endpoint)
        abort(403, "This address is open to nobody: it is missing in the list of addresses and roles.")
    if door.to in (allowed.EVERYONE, allowed.PHONES):
        return None
    person = person_here()
    reads = request.method in incoming.SAFE
    if person is None:
        if reads:
            return redirect(url_for("accounts.sign_in", next=request.full_path.rstrip("?")))
        return kept.page("You are not signed in any more, so this was not saved."), 401
    if person["must_change"] and request.endpoint not in BEFORE_A_PASSWORD:
        if reads:
            return redirect(url_for("account.password"))
        return kept.page("Choose a password of your own first. Nothing was saved."), 403
    return None if may(request.endpoint) else (_not_for(person), 403)


def _not_for(person: dict[str, Any]) -> str:
    endpoint = request.endpoint or ""
    reason = f"This needs the role {allowed.needed(endpoint)}; yours is {person['role']}."
    if request.method not in incoming.SAFE:
        return kept.page(f"{reason} Nothing was saved.")
    return render_template("accounts/not_for.html", reason=reason, admins=people.admins(get_db()))
