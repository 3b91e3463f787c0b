"""The desk's pages about phones: the list, a new pairing, rename, revoke, approve again."""

from typing import Any

import segno
from flask import Blueprint, Response, abort, current_app, flash, jsonify, redirect, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse
from wtforms.fields.choices import SelectChoice

from webapp import clock, dates
from webapp.accounts import person_here
from webapp.pairing import codes, listing, pairings
from webapp.pairing.forms import PhoneForm, SettingsForm
from webapp.store import meta, people, phones, strangers
from webapp.store.db import get_db, write

blueprint = Blueprint(
    "pairing",
    __name__,
    url_prefix="/phones",
    template_folder="templates",
    static_folder="static",
)

NOBODY = SelectChoice("", "nobody in particular")
LOOPBACK = ("127.0.0.1", "localhost", "[::1]")


@blueprint.get("")
def phones_page() -> str:
    """All phones, those asking to be let in, and what holds for all."""
    return _phones_page(_settings())


def _phones_page(settings: SettingsForm) -> str:
    db = get_db()
    return render_template(
        "pairing/phones.html",
        rows=listing.rows(db, clock.now()),
        strangers=[row | {"since": dates.moment(row["first_seen"])} for row in strangers.waiting(db)],
        settings=settings,
        people=_choices(),
    )


@blueprint.post("/pair")
def start() -> AnyResponse:
    """Make a new pairing and show it."""
    pairing = pairings.start(get_db(), _server_key(), (person_here() or {})["id"], clock.now())
    return redirect(url_for("pairing.pair_page", pairing=pairing), 303)


@blueprint.get("/pair/<pairing>")
def pair_page(pairing: str) -> str:
    """The QR code, then the number to compare, then what became of it."""
    row = _pairing(pairing)
    secret = codes.secret(_server_key(), pairing)
    address = _phones_address()
    form = PhoneForm(name=row["name"] or "")
    form.person.choices = _choices()
    return render_template(
        "pairing/pair.html",
        row=row,
        qr=qr(f"{address}/#pair={secret}"),
        code=codes.shown(codes.code(_server_key(), pairing)),
        address=address,
        safe=address.startswith("https://") or address.split("//", 1)[1].split(":")[0] in LOOPBACK,
        until=dates.moment(row["until"]),
        form=form,
    )


@blueprint.get("/pair/<pairing>/state")
def pair_state(pairing: str) -> Response:
    """For the page that waits: has anything changed?"""
    return jsonify(state=_pairing(pairing)["state"])


@blueprint.post("/pair/<pairing>/confirm")
def confirm(pairing: str) -> AnyResponse:
    """The numbers are the same."""
    form = PhoneForm()
    form.person.choices = _choices()
    if not form.validate_on_submit():
        flash(_first_error(form), "")
        return redirect(url_for("pairing.pair_page", pairing=pairing))
    if pairings.confirm(get_db(), pairing, form.name.data.strip(), form.person.data or None, clock.now()):
        flash(f"{form.name.data.strip()} is let in: it fetches its key now.", "good")
    else:
        flash("This pairing is over. Start a new one.", "")
    return redirect(url_for("pairing.pair_page", pairing=pairing))


@blueprint.post("/pair/<pairing>/refuse")
def refuse(pairing: str) -> AnyResponse:
    """The numbers differ."""
    if pairings.refuse(get_db(), pairing, clock.now()):
        flash("Refused: that phone was not let in.", "good")
    return redirect(url_for("pairing.phones_page"))


@blueprint.post("/<phone>/rename")
def rename(phone: str) -> AnyResponse:
    """Another name or person for a phone."""
    _phone(phone)
    form = PhoneForm()
    form.person.choices = _choices()
    if form.validate_on_submit():
        with write(get_db()) as db:
            phones.rename(db, phone, form.name.data.strip(), form.person.data or None)
        flash(f"The phone is called {form.name.data.strip()} now.", "good")
    else:
        flash(_first_error(form), "")
    return redirect(url_for("pairing.phones_page"))


@blueprint.post("/<phone>/revoke")
def revoke(phone: str) -> AnyResponse:
    """From now on the phone may only hand over what it has."""
    row = _phone(phone)
    with write(get_db()) as db:
        phones.revoke(db, phone)
    flash(
        f"{row['name']} is revoked. At its next contact it locks, sends what it still has and clears itself; "
        "without contact nothing happens on it.",
        "good",
    )
    return redirect(url_for("pairing.phones_page"))


@blueprint.post("/<phone>/approve")
def approve(phone: str) -> AnyResponse:
    """Let a phone of a restored copy read again."""
    row = _phone(phone)
    with write(get_db()) as db:
        phones.approve(db, phone)
    flash(f"{row['name']} may read again.", "good")
    return redirect(url_for("pairing.phones_page"))


@blueprint.post("/strangers/<token_hash>/approve")
def let_in(token_hash: str) -> AnyResponse:
    """Let in a phone that the restored records do not know."""
    name = request.form.get("name", "").strip()[:60] or "Phone from before the restore"
    with write(get_db()) as db:
        known = strangers.let_in(db, token_hash, name, None)
    flash(f"{name} is let in again." if known else "That phone is no longer on the list.", "good" if known else "")
    return redirect(url_for("pairing.phones_page"))


@blueprint.post("/strangers/<token_hash>/refuse")
def send_away(token_hash: str) -> AnyResponse:
    """Take such a phone off the list."""
    with write(get_db()) as db:
        strangers.send_away(db, token_hash)
    flash("Taken off the list.", "good")
    return redirect(url_for("pairing.phones_page"))


@blueprint.post("/settings")
def settings() -> AnyResponse | tuple[str, int]:
    """What holds for all phones."""
    form = SettingsForm()
    if not form.validate_on_submit():
        return _phones_page(form), 422
    with write(get_db()) as db:
        meta.put(db, meta.PIN_ASKED, form.pin.data)
        meta.put(db, meta.KEEP_DAYS, str(form.keep_days.data))
    flash("Saved. Phones take it at their next contact.", "good")
    return redirect(url_for("pairing.phones_page"))


def qr(text: str) -> Markup:
    """The QR code as SVG for a page without inline style: black on white whatever the theme."""
    made = segno.make(text, error="m", micro=False)
    drawn = made.svg_inline(border=4, omitsize=True, svgclass="qr", lineclass=None, light="#fff", title="QR code")
    return Markup(drawn)  # noqa: S704  squares made by segno; the text is in none of them


def _settings() -> SettingsForm:
    db = get_db()
    return SettingsForm(pin=meta.get(db, meta.PIN_ASKED), keep_days=int(meta.get(db, meta.KEEP_DAYS)))


def _pairing(pairing: str) -> dict[str, Any]:
    row = pairings.by_id(get_db(), pairing, clock.now())
    return row if row is not None else abort(404)


def _phone(phone: str) -> dict[str, Any]:
    row = phones.by_id(get_db(), phone)
    return row if row is not None else abort(404)


def _choices() -> list[SelectChoice]:
    known = people.everyone(get_db())
    return [NOBODY, *(SelectChoice(row["id"], f"{row['name']} ({row['id']})") for row in known)]


def _phones_address() -> str:
    """Where phones reach this server: the setting PHONE_ADDRESS, else where the desk reaches it."""
    return str(current_app.config.get("PHONE_ADDRESS") or request.url_root).rstrip("/")


def _server_key() -> str:
    return str(current_app.config["SECRET_KEY"])


def _first_error(form: PhoneForm) -> str:
    return next((str(error) for errors in form.errors.values() for error in errors), "Something is missing.")
