"""Keeping the records: copies out, a copy back, a journal file in, and what is known to be missing."""

from flask import Flask

from webapp.keeping import commands, erasing, routes


def init_app(app: Flask) -> None:
    """Add /records and the commands."""
    app.register_blueprint(routes.blueprint)
    for command in (*commands.COMMANDS, *erasing.COMMANDS):
        app.cli.add_command(command)
