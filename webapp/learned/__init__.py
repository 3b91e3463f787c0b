"""The spread that the practice learns from its own replicate readings: kept up to date, and shown at /spread."""

from flask import Flask

from webapp.learned import routes


def init_app(app: Flask) -> None:
    """Add /spread."""
    app.register_blueprint(routes.blueprint)
