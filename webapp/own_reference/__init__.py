"""The practice's own reference: exams of healthy animals, what they say of a published limit, and own limits."""

from flask import Flask

from webapp.own_reference import marking, routes


def init_app(app: Flask) -> None:
    """Add /own-reference."""
    app.register_blueprint(routes.blueprint)
    app.register_blueprint(marking.blueprint)
