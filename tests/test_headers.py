"""Every answer carries the security headers; nothing runs that is not ours."""

import gzip
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

WEBAPP = Path(__file__).parent.parent / "webapp"


@pytest.mark.parametrize(
    "address",
    [
        "/",
        "/sw.js",
        "/build/x.js",
        "/sign-in",
        "/review",
        "/api/ping",
        "/api/none",
        "/nothing",
        "/report-static/report.css",
        "/review/static/keys.js",
    ],
)
def test_every_answer_carries_the_headers(client: FlaskClient, address: str) -> None:
    answer = client.get(address, buffered=True)
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "'unsafe-inline'" not in policy
    assert "'unsafe-eval'" not in policy.replace("'wasm-unsafe-eval'", "")
    for part in ("object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'"):
        assert part in policy
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert "microphone=()" in answer.headers["Permissions-Policy"]


def test_only_the_phone_may_compile_webassembly(client: FlaskClient) -> None:
    for address, allowed in (
        ("/", True),
        ("/sw.js", True),
        ("/build/engine-worker.js", True),
        ("/sign-in", False),
    ):
        assert (
            "'wasm-unsafe-eval'" in client.get(address, buffered=True).headers["Content-Security-Policy"]
        ) is allowed


def test_pages_of_the_desk_are_not_kept_by_the_browser(sign_in: Callable[..., FlaskClient]) -> None:
    assert sign_in().get("/review").headers["Cache-Control"] == "no-store"


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
        "micropython.mjs",
        "micropython.wasm",
        "rules.json",
        "app.webmanifest",
    ):
        (folder / name).write_text("x", encoding="utf-8")
    app.config["PHONE_BUILD"] = str(folder)
    return app.test_client()


@pytest.mark.parametrize(
    ("address", "content_type", "kept"),
    [
        ("/", "text/html; charset=utf-8", "no-cache"),
        ("/sw.js", "text/javascript; charset=utf-8", "no-cache"),
        ("/build/app.0a1b2c3d.js", "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"),
        ("/build/app.0a1b2c3d.css", "text/css; charset=utf-8", "public, max-age=31536000, immutable"),
        ("/build/micropython.mjs", "text/javascript; charset=utf-8", "no-cache"),
        ("/build/micropython.wasm", "application/wasm", "no-cache"),
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


@pytest.mark.parametrize("address", ["/", "/build/micropython.wasm", "/build/rules.json"])
def test_the_phone_app_is_sent_compressed_to_those_who_take_it(built: FlaskClient, address: str) -> None:
    plain = built.get(address, buffered=True)
    answer = built.get(address, buffered=True, headers={"Accept-Encoding": "gzip, br"})
    assert answer.headers["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in answer.headers["Vary"]
    assert gzip.decompress(answer.data) == plain.data
    assert "Content-Encoding" not in plain.headers
    again = built.get(address, headers={"Accept-Encoding": "gzip", "If-None-Match": answer.headers["ETag"]})
    assert again.status_code in (200, 304)


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
