"""In and out: animals and visits from files, every list as CSV, FHIR R4."""

from flask import Flask

from webapp.exchange import import_pages, routes
from webapp.review import words


def init_app(app: Flask) -> None:
    """Add /exchange and the files that other rooms link to."""
    app.register_blueprint(routes.blueprint)
    app.register_blueprint(import_pages.blueprint)
    app.jinja_env.globals["structure_names"] = lambda ids: [words.label(one) for one in ids]
