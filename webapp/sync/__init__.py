"""The phone's one counterpart: it sends its journal here and fetches what today's list needs."""

from flask import Flask

from webapp.sync import errors, rates, routes


def init_app(app: Flask) -> None:
    """Add /api and its error answers."""
    errors.init_app(app)
    app.register_blueprint(routes.blueprint)
    rates.before(app, "sync.push", "sync.push_sealed", "sync.pull", "sync.practice")
