"""Files and bodies that are too large, unfold into something large, or carry a path: refused early, nothing written.

OWASP ASVS 5.0, 5.2.1, 5.2.2, 5.3.2; 1.5.3 (one parser), 4.3 and 15.2 (what a request may cost).
"""

import gzip
import io
import json
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import push, whole_exam
from tests.conftest import BEARER, form_token
from webapp.keeping.routes import LARGEST_FILE

PATHS = ("../../evil.json", "..\\..\\evil.json", "/etc/evil.json", "evil\x00.json", "a" * 5000, "C:\\evil", "")
PHOTO_NAMES = ("..", "../x", "%2e%2e%2fx", "..%2f..%2fsecret_key", "x%00", "A" * 64, "ab" * 32 + ".png", "ab" * 33)
DEEP = b"[" * 100_000 + b"]" * 100_000
SECONDS = 5.0  # far above what a refusal takes, far below what unfolding would


def files(tmp_path: Path) -> dict[str, int]:
    """Every file below the test's folder that is not the database's own, with its size."""
    found = (path for path in tmp_path.rglob("*") if path.is_file() and "sqlite3" not in path.name)
    return {str(path.relative_to(tmp_path)): path.stat().st_size for path in found}


def rows(db: Database) -> int:
    return int(db.execute("select count(*) from entries").fetchone()[0])


@pytest.mark.parametrize("name", PATHS)
def test_the_name_of_a_file_is_never_used(
    db: Database, tmp_path: Path, sign_in: Callable[..., FlaskClient], name: str
) -> None:
    browser = sign_in()
    token = form_token(browser.get("/records").text)
    before = files(tmp_path)
    data = {"csrf_token": token, "journal": (io.BytesIO(push(whole_exam()).encode()), name)}
    browser.post("/records/import", data=data, content_type="multipart/form-data", buffered=True)
    assert files(tmp_path) == before


@pytest.mark.parametrize("method", ["PUT", "HEAD"])
@pytest.mark.parametrize("name", PHOTO_NAMES)
def test_a_photo_is_named_by_its_hash_and_by_nothing_else(
    client: FlaskClient, tmp_path: Path, method: str, name: str
) -> None:
    before = files(tmp_path)
    answer = client.open(f"/api/photo/{name}", method=method, data=b"\xff\xd8\xff\xe0 x", headers=BEARER)
    assert answer.status_code in (400, 404), answer.status_code
    assert files(tmp_path) == before


@pytest.mark.parametrize("name", ["../../etc/passwd", "..%2f..%2fetc%2fpasswd", "%2e%2e/%2e%2e/etc/passwd", "....//x"])
@pytest.mark.parametrize("under", ["/photos/", "/build/", "/review/static/", "/report-static/", "/account/static/"])
def test_no_path_leads_out_of_what_is_served(sign_in: Callable[..., FlaskClient], under: str, name: str) -> None:
    answer = sign_in().get(under + name, buffered=True)
    assert answer.status_code in (404, 503)
    assert "root:" not in answer.text


@pytest.mark.catalogue(51)
@pytest.mark.parametrize(
    ("body", "headers"),
    [
        (gzip.compress(b"[" + b"0," * 20_000_000 + b"0]"), {"Content-Encoding": "gzip"}),
        (zlib.compress(b"0" * 50_000_000), {"Content-Encoding": "deflate"}),
        (b"x", {"Content-Encoding": "br, gzip"}),
        (DEEP, {}),
        (b'{"protocol": 1, "device": ' + DEEP + b"}", {}),
        (b"9" * 1_000_000, {}),
        (b'{"a":' * 200_000, {}),
        (b"\xff" * 1000, {}),
        (b"1" * (3 * 1024 * 1024), {}),
    ],
    ids=["gzip bomb", "deflate bomb", "two encodings", "deep", "inside", "long number", "open", "no text", "large"],
)
def test_what_would_unfold_is_refused_in_no_time(
    client: FlaskClient, db: Database, body: bytes, headers: dict[str, str]
) -> None:
    for where in ("/api/journal", "/api/journal/sealed", "/api/pair"):
        begun = time.monotonic()
        answer = client.post(where, data=body, headers=BEARER | headers, content_type="application/json")
        assert answer.status_code in (400, 413, 415), (where, answer.status_code)
        assert time.monotonic() - begun < SECONDS
    assert rows(db) == 0


@pytest.mark.parametrize(
    "body", [DEEP, b"\x1f\x8b" + b"\0" * 1000, json.dumps({"entries": [[]] * 100_000}).encode(), b"\0" * 400_000]
)
def test_a_file_that_is_no_journal_is_told_so_and_nothing_is_taken(
    db: Database, sign_in: Callable[..., FlaskClient], body: bytes
) -> None:
    browser = sign_in()
    data = {"csrf_token": form_token(browser.get("/records").text), "journal": (io.BytesIO(body), "journal.json")}
    begun = time.monotonic()
    answer = browser.post("/records/import", data=data, content_type="multipart/form-data", buffered=True)
    assert answer.status_code == 422
    assert 'class="error"' in answer.text
    assert time.monotonic() - begun < SECONDS
    assert rows(db) == 0


def test_each_address_takes_only_as_much_as_it_needs(app: Flask, sign_in: Callable[..., FlaskClient]) -> None:
    browser = sign_in()
    usual = app.config["MAX_CONTENT_LENGTH"]
    assert usual == 2 * 1024 * 1024
    for where, most in (("/people", usual), ("/records/import", LARGEST_FILE), ("/api/journal", usual)):
        kind = "application/json" if "/api/" in where else "application/x-www-form-urlencoded"
        answer = browser.post(where, headers=BEARER | {"Content-Length": str(most + 1)}, content_type=kind)
        assert answer.status_code in (400, 413), where


@pytest.mark.parametrize(
    "data",
    [
        "&".join(f"field{number}=x" for number in range(2000)),
        f"name={'x' * 600_000}",
    ],
    ids=["too many fields", "one too long"],
)
def test_a_form_of_too_many_or_too_long_fields_is_refused(
    sign_in: Callable[..., FlaskClient], data: str
) -> None:
    browser = sign_in()
    answer = browser.post("/people", data=data, content_type="application/x-www-form-urlencoded")
    assert answer.status_code in (400, 413)
