"""The day board: today's visits and exams by state, what each waits for, and the next one by one key."""

from flask import Flask

from webapp.dayboard import routes


def init_app(app: Flask) -> None:
    """Add /board."""
    app.register_blueprint(routes.blueprint)
