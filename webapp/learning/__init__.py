"""What the practice can learn from its own exams: figures over a range of days, for learning and for nothing else."""

from flask import Flask

from webapp.learning import routes


def init_app(app: Flask) -> None:
    """Add /learning."""
    app.register_blueprint(routes.blueprint)
