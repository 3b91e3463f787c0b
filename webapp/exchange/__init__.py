"""In and out: animals and visits from files, every list as CSV, FHIR R4."""

from flask import Flask

from webapp.exchange import commands, dicom_pages, exam_files, import_pages, routes, still_pages
from webapp.review import words


def init_app(app: Flask) -> None:
    """Add /exchange and the files that other rooms link to."""
    app.register_blueprint(routes.blueprint)
    app.register_blueprint(import_pages.blueprint)
    for pages in (exam_files, dicom_pages, still_pages):
        app.register_blueprint(pages.blueprint)
    for command in commands.COMMANDS:
        app.cli.add_command(command)
    app.jinja_env.globals["structure_names"] = lambda ids: [words.label(one) for one in ids]
