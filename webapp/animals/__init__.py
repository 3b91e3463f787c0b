"""Animals at the desk: records, search, two records made one, walk-ins and exams given to the right animal."""

from flask import Flask

from webapp.animals import wrong_animal, routes


def init_app(app: Flask) -> None:
    """Add /animals and what is done with an exam under the wrong animal."""
    app.register_blueprint(routes.blueprint)
    app.register_blueprint(wrong_animal.blueprint)
