"""How the app is configured: fixed values, the practice's settings (settings.py), then the caller's."""

import os
import secrets
from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path
from typing import Any

from flask import Flask, request
from flask.sessions import SecureCookieSessionInterface
from werkzeug.middleware.proxy_fix import ProxyFix

from webapp import settings

FIXED: dict[str, Any] = {
    "MAX_CONTENT_LENGTH": 2 * 1024 * 1024,
    "SESSION_COOKIE_HTTPONLY": True,
    "SESSION_COOKIE_SAMESITE": "Lax",
    "SESSION_COOKIE_NAME": "gelside",
    # Bound to the session instead: a review left open for an hour must not lose its text.
    "WTF_CSRF_TIME_LIMIT": None,
}


class Sessions(SecureCookieSessionInterface):
    """Over https the session's cookie never travels in the open; over plain http on loopback it must."""

    def get_cookie_name(self, app: Flask) -> str:
        # With this prefix a browser takes the cookie only over https, for this host alone and all of it.
        name = super().get_cookie_name(app)
        return f"__Host-{name}" if request.is_secure else name

    def get_cookie_secure(self, app: Flask) -> bool:
        return request.is_secure or super().get_cookie_secure(app)


def instance_folder() -> str | None:
    """The folder of this practice's files: GELSIDE_INSTANCE (absolute), or Flask's default."""
    return os.environ.get("GELSIDE_INSTANCE") or None


def load(app: Flask, given: Mapping[str, Any] | None) -> None:
    """Fill app.config; makes the instance folder and, once, its secret key."""
    folder = Path(app.instance_path)
    folder.mkdir(parents=True, exist_ok=True)
    app.config.from_mapping(FIXED)
    app.session_interface = Sessions()
    app.config["PHONE_BUILD"] = str(Path(app.root_path).parent / "static" / "build")
    app.config.from_mapping(settings.read(folder))
    app.config["DATABASE"] = app.config["DATABASE"] or str(folder / "gelside.sqlite3")
    app.config.from_mapping(given or {})
    settings.check({name: app.config[name] for name in (given or {}) if name in settings.SETTINGS}, "create_app")
    app.config["PERMANENT_SESSION_LIFETIME"] = timedelta(hours=app.config["SESSION_HOURS"])
    app.config["SESSION_IDLE"] = timedelta(minutes=app.config["SESSION_IDLE_MINUTES"])
    if app.config["PROXIES"]:
        trusted = app.config["PROXIES"]
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=trusted, x_proto=trusted, x_host=trusted)  # type: ignore[method-assign]
    if not app.config["SECRET_KEY"]:
        app.config["SECRET_KEY"] = _secret_key(folder / "secret_key")


def _secret_key(path: Path) -> str:
    """The key kept in the instance folder, readable by its owner only; made on the first start."""
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text(encoding="ascii")
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        key = secrets.token_hex(32)
        file.write(key)
    return key
