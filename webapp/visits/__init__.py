"""Requests and the lists of days at the desk: planned, assigned, ordered, cancelled."""

from flask import Flask

from webapp.visits import routes


def init_app(app: Flask) -> None:
    """Add /visits."""
    app.register_blueprint(routes.blueprint)
