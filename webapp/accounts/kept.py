"""Text typed into a form that was not taken: shown again, and sent on after a new sign-in."""

from typing import NamedTuple

from flask import current_app, render_template, request
from werkzeug.exceptions import HTTPException

from webapp import incoming
from webapp.accounts.forms import SignInForm

PREFIX = "typed."
ADDRESS = "typed_for"
NOT_TEXT = ("csrf_token", "seen", "save", "submit")


class Kept(NamedTuple):
    """Where a form was going, and its fields."""

    address: str
    fields: list[tuple[str, str]]

    @property
    def texts(self) -> list[tuple[str, str]]:
        """The fields that a person wrote."""
        return [(name, text) for name, text in self.fields if text.strip() and name not in NOT_TEXT]


def of_form() -> Kept:
    """What the form of this request was going to send."""
    address = request.full_path.rstrip("?")
    return Kept(address, _plain(list(request.form.items(multi=True))))


def carried() -> Kept | None:
    """What the sign-in's own form carries along for later."""
    address = request.form.get(ADDRESS, "")
    fields = [(name[len(PREFIX):], text) for name, text in request.form.items(multi=True) if name.startswith(PREFIX)]
    return Kept(address, _plain(fields)) if takes_a_form(address) else None


def page(reason: str) -> str:
    """A page that says why a form was not taken and gives back the text that was in it, with the way to go on."""
    typed = of_form()
    # Only what a page of this site sent is offered to be sent on: another site's words are shown, never repeated.
    goes_on = incoming.surely_own() and takes_a_form(typed.address) and not request.files
    return render_template(
        "accounts/typed_again.html",
        reason=reason,
        kept=typed,
        form=SignInForm(formdata=None),
        carried=typed if goes_on else None,
    )


def takes_a_form(address: str) -> bool:
    """Whether a form may be sent to this address of this site."""
    if not address.startswith("/") or address.startswith(("//", "/\\")):
        return False
    try:
        endpoint, _ = current_app.url_map.bind("here").match(address.split("?", 1)[0], "POST")
    except HTTPException:
        return False
    return not str(endpoint).startswith("accounts.")


def _plain(fields: list[tuple[str, str]]) -> list[tuple[str, str]]:
    return [(name, text) for name, text in fields if name != "csrf_token" and "password" not in name]
