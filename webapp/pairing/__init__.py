"""Letting phones in and out: pairing by QR code or typed code, the phones' page, revoking."""

from flask import Flask

from webapp.pairing import api, routes


def init_app(app: Flask) -> None:
    """Add /api/pair and /phones."""
    app.register_blueprint(api.blueprint)
    app.register_blueprint(routes.blueprint)
