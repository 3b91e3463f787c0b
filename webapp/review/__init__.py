"""The desk: the queue of exams, one exam with everything recorded, and the vet's signature."""

from flask import Flask
from markupsafe import Markup

from webapp import rules
from webapp.report import plots
from webapp.review import (
    asking,
    beside,
    issued,
    owner_page,
    procedures,
    routes,
    second_reading,
    sending,
    striking,
    telling,
    words,
)


def init_app(app: Flask) -> None:
    """Add the desk's pages and the reports as issued."""
    app.register_blueprint(routes.blueprint)
    for pages in (asking, beside, issued, owner_page, procedures, second_reading, sending, striking, telling):
        app.register_blueprint(pages.blueprint)
    app.jinja_env.globals["mark_for"] = words.MARKS
    app.jinja_env.globals["parts"] = lambda: words.parts().values()
    app.jinja_env.globals["probability_words"] = words.probability
    app.jinja_env.globals["plot_drawing"] = lambda series: Markup(plots.drawing(series))  # noqa: S704
    app.jinja_env.globals["plot_rows"] = plots.rows
    app.jinja_env.globals["language"] = lambda: "en-US" if rules.spelling_here() == "american" else "en-GB"
