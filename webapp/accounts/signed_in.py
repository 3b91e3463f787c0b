"""The mark on every page of the desk: someone known has signed in."""

from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec, TypeVar

from flask import g, redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response

from webapp.store import people
from webapp.store.db import get_db

P = ParamSpec("P")
R = TypeVar("R")


def person_here() -> dict[str, Any] | None:
    """The person of this session (id, name, role), read anew for every request, or None."""
    if "person" not in g:
        known = session.get("person")
        g.person = people.by_id(get_db(), known) if isinstance(known, str) else None
    person: dict[str, Any] | None = g.person
    return person


def signed_in(view: Callable[P, R]) -> Callable[P, R | Response | tuple[str, int]]:
    """Let only a signed-in person through. Others are asked to sign in and come back; what they had
    typed into a form is shown to them again, so that it is not lost."""

    @wraps(view)
    def guarded(*args: P.args, **kwargs: P.kwargs) -> R | Response | tuple[str, int]:
        if person_here() is None:
            if request.method == "GET":
                return redirect(url_for("accounts.sign_in", next=request.full_path.rstrip("?")))
            return typed_again("You were signed out, so this was not saved."), 401
        return view(*args, **kwargs)

    # For the test that walks over all addresses of the desk.
    guarded.asks_who = True  # type: ignore[attr-defined]
    return guarded


def typed_again(reason: str) -> str:
    """A page that says why a form was not taken and gives back the text that was in it."""
    texts = [
        (name, text)
        for name, text in request.form.items(multi=True)
        if text.strip() and name not in ("csrf_token", "password", "seen")
    ]
    return render_template("accounts/typed_again.html", reason=reason, texts=texts)
