"""Letting phones in and out: pairing by QR code or typed code, the phones' page, revoking."""

from flask import Flask

from webapp.pairing import api, commands, routes


def init_app(app: Flask) -> None:
    """Add /api/pair, /phones and the commands."""
    app.register_blueprint(api.blueprint)
    app.register_blueprint(routes.blueprint)
    for command in commands.COMMANDS:
        app.cli.add_command(command)
