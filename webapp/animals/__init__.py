"""Animals at the desk: records, search, two records made one, walk-ins and exams given to the right animal."""

from flask import Flask

from webapp.animals import routes, words, wrong_animal
from webapp.review import words as review_words


def init_app(app: Flask) -> None:
    """Add /animals and what is done with an exam under the wrong animal."""
    app.register_blueprint(routes.blueprint)
    app.register_blueprint(wrong_animal.blueprint)
    # Globals, because macros that are imported see nothing else.
    told = {"animal_words": words, "day_words": review_words.day, "moment_words": review_words.moment}
    app.jinja_env.globals.update(told)
