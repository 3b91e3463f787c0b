"""Who is at the desk: one sign-in per person, forms that only this site can send."""

from flask import Flask
from flask_wtf import CSRFProtect

from webapp.accounts import routes
from webapp.accounts.signed_in import person_here, signed_in

__all__ = ["csrf", "init_app", "person_here", "signed_in"]

csrf = CSRFProtect()


def init_app(app: Flask) -> None:
    """Add the sign-in and the check of every form's token."""
    csrf.init_app(app)
    routes.init_app(app)
