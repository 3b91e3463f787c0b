"""/health: for whatever watches over the server. Says whether it can do its work, and nothing about what it holds."""

import shutil
import sqlite3
from pathlib import Path

from flask import Blueprint, Response, current_app, jsonify

from webapp.store import meta
from webapp.store.db import get_db

blueprint = Blueprint("health", __name__)

LEAST_FREE = 200 * 1024 * 1024  # bytes: below, a day's work may not fit any more


@blueprint.get("/health")
def page() -> Response:
    """200 `{"healthy": true, "troubles": []}`, or 503 with each trouble in a sentence."""
    troubles = found()
    response = jsonify(healthy=not troubles, troubles=troubles)
    response.status_code = 503 if troubles else 200
    return response


def found() -> list[str]:
    """What keeps the server from its work."""
    troubles = []
    folder = Path(current_app.config["DATABASE"]).parent
    try:
        meta.get(get_db(), "store_id")
    except sqlite3.Error as error:
        current_app.logger.error("health: the database: %s", error)
        troubles.append("The practice's file cannot be read; the server's log says why.")
    if not folder.is_dir() or shutil.disk_usage(folder).free < LEAST_FREE:
        troubles.append(f"The disk of the records has less than {LEAST_FREE // 1024**2} MB left.")
    if not (Path(current_app.config["PHONE_BUILD"]) / "index.html").is_file():
        troubles.append("The phone's app is not built: phones cannot open it.")
    return troubles
