"""Gelside: notes of a veterinary ultrasound examination, from the table to the signed report."""

from collections.abc import Mapping
from typing import Any, cast

from flask import Flask
from flask.json.provider import DefaultJSONProvider

from webapp import (
    accounts,
    animals,
    cli,
    config,
    exchange,
    headers,
    health,
    incoming,
    keeping,
    learned,
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
    for part in (db, headers, incoming, behind, accounts, tls_command, cli):
        part.init_app(app)
    for room in (sync, pairing, photos, keeping, register, learned, review, animals, visits, exchange):
        room.init_app(app)
    for pages in (phone, health):
        app.register_blueprint(pages.blueprint)
    app.cli.add_command(settings.command)
    # Phones prove themselves by a bearer token that no other site's page can send.
    for interface in (sync.routes.blueprint, pairing.api.blueprint, photos.api):
        accounts.csrf.exempt(interface)
    return app


def served(given: Mapping[str, Any] | None = None) -> Flask:
    """The application as a server runs it: with a thread for what no request waits for."""
    app = create_app(given)
    afterwards.start(app)
    return app
