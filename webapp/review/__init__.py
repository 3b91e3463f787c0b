"""The desk: the queue of exams, one exam with everything recorded, and the vet's signature."""

from flask import Flask

from webapp import rules
from webapp.review import issued, routes, words


def init_app(app: Flask) -> None:
    """Add the desk's pages and the reports as issued."""
    app.register_blueprint(routes.blueprint)
    app.register_blueprint(issued.blueprint)
    app.jinja_env.globals["mark_for"] = words.MARKS
    app.jinja_env.globals["probability_words"] = words.probability
    app.jinja_env.globals["language"] = lambda: "en-US" if rules.spelling_here() == "american" else "en-GB"
