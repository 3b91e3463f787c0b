"""The limits register at the desk: every row with its source, and what the practice changes in it."""

from flask import Flask

from webapp.register import changing, routes


def init_app(app: Flask) -> None:
    """Add /limits."""
    app.register_blueprint(routes.blueprint)
    app.register_blueprint(changing.blueprint)
