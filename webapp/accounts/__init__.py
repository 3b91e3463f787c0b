"""Who is at the desk: people and roles, signing in, sessions, the audit, forms that only this site can send."""

from flask import Flask
from flask_wtf import CSRFProtect

from webapp.accounts import audit_pages, commands, own, people_pages, rates, recording, routes, ways
from webapp.accounts.here import guard, person_here

__all__ = ["csrf", "init_app", "person_here"]

csrf = CSRFProtect()


def init_app(app: Flask) -> None:
    """Add the guard, the check of every form's token, the sign-in, the pages and the audit."""
    # In this order: who is not signed in any more learns that, and gets the typed text back, before the token counts.
    app.before_request(guard)
    csrf.init_app(app)
    routes.init_app(app)
    recording.init_app(app)
    for pages in (own, ways, people_pages, audit_pages):
        app.register_blueprint(pages.blueprint)
    rates.init_app(app)
    for command in commands.COMMANDS:
        app.cli.add_command(command)
