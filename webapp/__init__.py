"""Gelside: notes of a veterinary ultrasound examination, from the table to the signed report."""

from collections.abc import Mapping
from typing import Any, cast

from flask import Flask
from flask.json.provider import DefaultJSONProvider

# Before all that loads sqlite-utils.
from webapp import without_numpy  # noqa: F401

# isort: split
from webapp import (
    accounts,
    addresses,
    animals,
    cli,
    config,
    dayboard,
    exchange,
    headers,
    health,
    incoming,
    keeping,
    learned,
    learning,
    own_reference,
    pairing,
    phone,
    photos,
    register,
    review,
    settings,
    sync,
    tls_command,
    visits,
)
from webapp.store import afterwards, behind, db


def create_app(given: Mapping[str, Any] | None = None) -> Flask:
    """The application. `given` overrides the settings of the instance folder."""
    app = Flask(__name__, instance_path=config.instance_folder(), static_folder=None)
    config.load(app, given)
    # Escaped surrogate pairs stay two characters in the phone's rule engine.
    cast(DefaultJSONProvider, app.json).ensure_ascii = False
    for part in (addresses, db, headers, incoming, behind, accounts, tls_command, cli):
        part.init_app(app)
    rooms = (
        sync, pairing, photos, keeping, register, learned, own_reference, learning,
        review, animals, visits, dayboard, exchange,
    )
    for room in rooms:
        room.init_app(app)
    for pages in (phone, health):
        app.register_blueprint(pages.blueprint)
    app.cli.add_command(settings.command)
    # Phones prove themselves by a bearer token that no other site's page can send.
    for interface in (sync.routes.blueprint, pairing.api.blueprint, photos.api):
        accounts.csrf.exempt(interface)
    return app


def served(given: Mapping[str, Any] | None = None) -> Flask:
    """The application as a server runs it."""
    return at_work(create_app(given))


def at_work(app: Flask) -> Flask:
    """The same application with its file brought up to date, and a thread for what no request waits for."""
    with app.app_context():
        behind.note_unread(db.get_db())
    afterwards.start(app)
    return app
