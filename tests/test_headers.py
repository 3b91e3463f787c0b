"""Every answer carries the security headers; nothing runs that is not ours."""

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tests.accounts.desk import address
from tests.conftest import BEARER
from webapp.accounts import allowed

WEBAPP = Path(__file__).parent.parent / "webapp"


def looked_at(app: Flask) -> Iterator[tuple[str, str, str]]:
    """Every address with every method, and some that do not exist: (method, address, endpoint)."""
    for rule in app.url_map.iter_rules():
        for method in sorted((rule.methods or set()) - {"OPTIONS"}):
            yield method, address(rule), rule.endpoint
    for lost in ("/nothing", "/api/none", "/build/x.js", "/report-static/none.css", "/review/static/../../config.py"):
        yield "GET", lost, ""
    yield "DELETE", "/review", ""


@pytest.mark.parametrize("signed_in", [False, True])
def test_every_answer_carries_the_headers(
    app: Flask, sign_in: Callable[..., FlaskClient], signed_in: bool
) -> None:
    """OWASP ASVS 5.0: 3.4.3 to 3.4.6, 3.4.8, 3.5.8; every address, every method, errors included."""
    statuses = set()
    for method, where, endpoint in looked_at(app):
        browser = sign_in() if signed_in and endpoint == "accounts.sign_out" else app.test_client()
        answer = browser.open(where, method=method, buffered=True)
        statuses.add(answer.status_code)
        given = answer.headers["Content-Security-Policy"]
        assert given.startswith("default-src 'none'"), where
        for part in ("'unsafe-inline'", "'unsafe-eval'", "data:", "http:", "https:", "*"):
            assert part not in given.replace("'wasm-unsafe-eval'", ""), where
        for part in ("object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'"):
            assert part in given, where
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Referrer-Policy"] == "same-origin"
        assert answer.headers["Cross-Origin-Opener-Policy"] == "same-origin"
        assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
        # Clips are recorded on the phone's page.
        hears = "(self)" if endpoint.startswith("phone.") or where.startswith("/build/") else "()"
        assert f"microphone={hears}" in answer.headers["Permissions-Policy"], where
        assert "Strict-Transport-Security" not in answer.headers
    assert {200, 302, 401, 404, 405} <= statuses


def test_no_answer_that_is_not_for_everyone_is_kept_by_a_browser(
    app: Flask, sign_in: Callable[..., FlaskClient]
) -> None:
    browser, tried = sign_in(), 0
    for method, where, endpoint in looked_at(app):
        door = allowed.door(endpoint) if endpoint else None
        if door is not None and door.to == allowed.EVERYONE:
            continue
        answer = browser.open(where, method=method, buffered=True, headers=BEARER if "/api/" in where else {})
        assert answer.headers["Cache-Control"] == "no-store", where
        tried += 1
    assert tried > 60


def test_only_the_phone_may_compile_webassembly(app: Flask) -> None:
    for method, where, endpoint in looked_at(app):
        given = app.test_client().open(where, method=method, buffered=True).headers["Content-Security-Policy"]
        assert ("'wasm-unsafe-eval'" in given) is (endpoint.startswith("phone.") or where.startswith("/build/")), where


def test_no_template_has_script_or_style_of_its_own() -> None:
    templates = [*WEBAPP.glob("*/templates/**/*.html")]
    assert len(templates) > 8
    for template in templates:
        text = template.read_text(encoding="utf-8")
        assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=|\|\s*safe\b", text), template


@pytest.fixture
def built(app: Flask, tmp_path: Path) -> FlaskClient:
    folder = tmp_path / "build"
    folder.mkdir()
    for name in (
        "index.html",
        "sw.js",
        "app.0a1b2c3d.js",
        "app.0a1b2c3d.css",
        "micropython.0A1B2C3D.mjs",
        "micropython.0A1B2C3D.wasm",
        "tables.0A1B2C3D.json",
        "rules.json",
        "app.webmanifest",
    ):
        (folder / name).write_text("x", encoding="utf-8")
    app.config["PHONE_BUILD"] = str(folder)
    return app.test_client()


@pytest.mark.catalogue(59)
@pytest.mark.parametrize(
    ("address", "content_type", "kept"),
    [
        ("/", "text/html; charset=utf-8", "no-cache"),
        ("/sw.js", "text/javascript; charset=utf-8", "no-cache"),
        ("/build/app.0a1b2c3d.js", "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"),
        ("/build/app.0a1b2c3d.css", "text/css; charset=utf-8", "public, max-age=31536000, immutable"),
        ("/build/micropython.0A1B2C3D.mjs", "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"),
        ("/build/micropython.0A1B2C3D.wasm", "application/wasm", "public, max-age=31536000, immutable"),
        ("/build/tables.0A1B2C3D.json", "application/json", "public, max-age=31536000, immutable"),
        ("/build/rules.json", "application/json", "no-cache"),
        ("/build/app.webmanifest", "application/manifest+json", "no-cache"),
    ],
)
def test_the_phone_app_is_served_as_browsers_need_it(
    built: FlaskClient, address: str, content_type: str, kept: str
) -> None:
    answer = built.get(address, buffered=True)
    assert (answer.status_code, answer.content_type, answer.headers["Cache-Control"]) == (
        200,
        content_type,
        kept,
    )


@pytest.mark.parametrize("name", ["index.html", "micropython.0A1B2C3D.wasm", "tables.0A1B2C3D.json"])
def test_the_phone_app_is_sent_compressed_to_those_who_take_it(app: Flask, built: FlaskClient, name: str) -> None:
    address = "/" if name == "index.html" else f"/build/{name}"
    file = Path(app.config["PHONE_BUILD"]) / name
    for ending, text in ((".gz", "as gzip"), (".br", "as brotli")):
        file.with_name(name + ending).write_text(text)
    plain = built.get(address, buffered=True)
    tags = {plain.headers["ETag"]}
    assert (plain.data, "Content-Encoding" in plain.headers) == (b"x", False)
    for takes, encoding, data in (("gzip, deflate", "gzip", b"as gzip"), ("gzip, deflate, br", "br", b"as brotli")):
        answer = built.get(address, buffered=True, headers={"Accept-Encoding": takes})
        assert (answer.headers["Content-Encoding"], answer.data) == (encoding, data)
        assert answer.content_type == plain.content_type
        assert "Accept-Encoding" in answer.headers["Vary"]
        asked = {"Accept-Encoding": takes, "If-None-Match": answer.headers["ETag"]}
        assert built.get(address, headers=asked).status_code == 304, "what has not changed goes over the line once"
        tags.add(answer.headers["ETag"])
    assert len(tags) == 3
    later = file.stat().st_mtime + 10
    file.write_text("changed by hand")
    os.utime(file, (later, later))
    assert built.get(address, buffered=True, headers={"Accept-Encoding": "br"}).data == b"changed by hand"


def test_nothing_outside_the_build_is_served(built: FlaskClient) -> None:
    for name in ("../practice.sqlite3", "%2e%2e/practice.sqlite3", "a/../../practice.sqlite3"):
        assert built.get(f"/build/{name}", buffered=True).status_code == 404


def test_an_app_not_built_yet_says_what_to_do(app: Flask, tmp_path: Path) -> None:
    app.config["PHONE_BUILD"] = str(tmp_path / "none")
    answer = app.test_client().get("/")
    assert answer.status_code == 503
    assert "./demo/start" in answer.text


def test_the_secret_key_is_made_once_and_readable_by_its_owner_only(app: Flask) -> None:
    key = Path(app.instance_path) / "secret_key"
    assert app.config["SECRET_KEY"] == key.read_text(encoding="ascii")
    assert key.stat().st_mode & 0o077 == 0
    assert len(app.config["SECRET_KEY"]) == 64


@pytest.mark.parametrize("address", ["/", "/review", "/api/ping"])
def test_no_answer_binds_the_host_to_https(client: FlaskClient, address: str) -> None:
    """Strict-Transport-Security holds for a host with all its ports, and takes away the way past an ended
    certificate: DEVELOPERS.md says why it is the proxy's to send, not ours."""
    answer = client.get(address, base_url="https://gelside.lan:8443", buffered=True)
    assert "Strict-Transport-Security" not in answer.headers
