"""Photos and clips: resumed where they were cut, verified, kept once, never in the text's way."""

import base64
import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import padding, rsa
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from flask import Flask
from flask.testing import FlaskClient, FlaskCliRunner
from sqlite_utils import Database

from tests.builders import Phone, foreign, push, whole_exam
from tests.conftest import BEARER
from webapp.keeping import backup, restore
from webapp.photos import files, register
from webapp.store import phones
from webapp.sync import sealed

BYTES = b"\xff\xd8\xff\xe0" + bytes(range(256)) * 40
NAME = hashlib.sha256(BYTES).hexdigest()


def put(client: FlaskClient, data: bytes, start: int | None = None, total: int = len(BYTES), name: str = NAME) -> Any:
    headers = dict(BEARER)
    if start is not None:
        headers["Content-Range"] = f"bytes {start}-{start + len(data) - 1}/{total}"
    return client.put(f"/api/photo/{name}", data=data, headers=headers)


def head(client: FlaskClient, name: str = NAME) -> tuple[int, str]:
    answer = client.head(f"/api/photo/{name}", headers=BEARER)
    assert answer.status_code == 200
    return int(answer.headers["X-Gelside-Held"]), answer.headers["X-Gelside-Complete"]


def attached(phone: Phone) -> dict[str, Any]:
    """An entry that names the photo."""
    phone.act("noted", {"about": "adrenal.left", "hash": NAME})
    return dict(foreign(phone.written[-1], kind="attached"))


def sealed_by_a_phone(db: Database, data: bytes, name: str = NAME) -> tuple[str, bytes]:
    """The header and the bytes of a locked phone: sealed under a data key that is wrapped for this practice."""
    jwk = sealed.public_key(db)
    numbers = rsa.RSAPublicNumbers(_number(jwk["e"]), _number(jwk["n"]))
    key, iv = os.urandom(32), os.urandom(12)
    oaep = padding.OAEP(mgf=padding.MGF1(hashes.SHA256()), algorithm=hashes.SHA256(), label=None)
    wrapped = base64.b64encode(numbers.public_key().encrypt(key, oaep)).decode()
    return f"{base64.b64encode(iv).decode()} {wrapped}", AESGCM(key).encrypt(iv, data, name.encode())


def _number(text: str) -> int:
    return int.from_bytes(base64.urlsafe_b64decode(text + "=" * (-len(text) % 4)), "big")


def test_a_locked_phone_brings_it_as_it_lies_sealed(client: FlaskClient, db: Database, path: Path) -> None:
    how, data = sealed_by_a_phone(db, BYTES)
    assert put(client, BYTES[:100], 0).status_code == 202, "a part that came before the phone was locked"
    answer = client.put(f"/api/photo/{NAME}", data=data, headers=BEARER | {"X-Gelside-Sealed": how})
    assert (answer.status_code, answer.json["complete"]) == (201, True)
    assert files.path_of(files.folder_of(path), NAME).read_bytes() == BYTES


def test_what_cannot_be_opened_or_is_another_picture_is_refused(client: FlaskClient, db: Database, path: Path) -> None:
    how, data = sealed_by_a_phone(db, BYTES + b"x")
    answers = [
        client.put(f"/api/photo/{NAME}", data=sent, headers=BEARER | {"X-Gelside-Sealed": header})
        for header, sent in ((how, data), (how, data[:-1]), ("AAAA " + how.split()[1], data), ("no key", data))
    ]
    assert [(one.status_code, one.json["error"]["code"]) for one in answers] == [
        (422, "hash_differs"), (422, "not_opened"), (422, "not_opened"), (422, "not_opened"),
    ]
    assert not files.held(files.folder_of(path), NAME).complete


def test_a_whole_photo_is_taken_in_one_request_and_once(client: FlaskClient, db: Database, path: Path) -> None:
    assert head(client) == (0, "no")
    answer = put(client, BYTES)
    assert (answer.status_code, answer.json) == (201, {"hash": NAME, "held": len(BYTES), "complete": True})
    assert put(client, BYTES).status_code == 201
    assert head(client) == (len(BYTES), "yes")
    row = register.known(db, NAME)
    assert row is not None
    assert (row["size"], row["type"]) == (len(BYTES), "image/jpeg")
    assert files.path_of(files.folder_of(path), NAME).read_bytes() == BYTES


@pytest.mark.catalogue(48)
@pytest.mark.parametrize("cut", [len(BYTES) // 100, len(BYTES) // 2, len(BYTES) * 99 // 100])
def test_an_upload_cut_anywhere_goes_on_where_it_stopped(client: FlaskClient, cut: int) -> None:
    first = put(client, BYTES[:cut], 0)
    assert (first.status_code, first.json["complete"]) == (202, False)
    held, complete = head(client)
    assert (held, complete) == (cut, "no")
    assert put(client, BYTES[held:], held).status_code == 201
    assert head(client) == (len(BYTES), "yes")


@pytest.mark.catalogue(48)
def test_a_body_that_ends_early_keeps_what_came(path: Path) -> None:
    class Cut:
        """A line that gives 5000 bytes and then nothing."""

        def __init__(self) -> None:
            self.left = BYTES[:5000]

        def read(self, size: int, /) -> bytes:
            piece, self.left = self.left[:size], self.left[size:]
            return piece

    folder = files.folder_of(path)
    assert files.take(folder, NAME, 0, len(BYTES), Cut()) == (5000, False)
    assert files.held(folder, NAME) == (5000, False)


@pytest.mark.catalogue(48)
def test_an_answer_lost_after_the_last_byte_changes_nothing(client: FlaskClient, path: Path, db: Database) -> None:
    put(client, BYTES)
    assert put(client, BYTES[100:], 100).status_code == 201
    # Cut between the last byte and its verification, and between the file and its row:
    folder = files.folder_of(path)
    db.execute("drop trigger photos_are_never_deleted")
    db.execute("delete from photos")
    assert head(client) == (len(BYTES), "yes")
    assert register.known(db, NAME) is not None
    db.execute("delete from photos")
    os.replace(files.path_of(folder, NAME), folder / "partial" / NAME)
    assert head(client) == (len(BYTES), "yes")
    assert register.known(db, NAME) is not None


@pytest.mark.catalogue(48)
def test_bytes_that_are_not_those_of_the_name_are_refused_and_dropped(client: FlaskClient, db: Database) -> None:
    wrong = BYTES[:-1] + b"x"
    answer = put(client, wrong)
    assert (answer.status_code, answer.json["error"]["code"]) == (422, "hash_differs")
    assert head(client) == (0, "no")
    put(client, wrong[:5000], 0)
    assert put(client, BYTES[5000:], 5000).status_code == 201  # the wrong byte was the last


def test_a_gap_is_refused_and_names_where_to_go_on(client: FlaskClient) -> None:
    put(client, BYTES[:1000], 0)
    answer = put(client, BYTES[2000:], 2000)
    assert (answer.status_code, answer.json["error"]["code"]) == (409, "wrong_offset")
    assert answer.json["error"]["held"] == 1000
    assert put(client, BYTES[500:3000], 500).json["held"] == 3000


@pytest.mark.parametrize("data", [b"MZ" + b"x" * 100, b"<svg onload=x>", b"%PDF-1.7", b"\0" * 10])
def test_what_is_no_picture_is_refused(client: FlaskClient, db: Database, data: bytes) -> None:
    answer = put(client, data, name=hashlib.sha256(data).hexdigest())
    assert (answer.status_code, answer.json["error"]["code"]) == (415, "not_a_picture")
    assert list(db.query("select * from photos")) == []


@pytest.mark.parametrize(
    ("name", "given"),
    [
        ("x", {}),
        (NAME.upper(), {}),
        (NAME, {"Content-Range": "bytes 0-5/4"}),
        (NAME, {"Content-Range": "bytes 0-5/*"}),
        (NAME, {"Content-Range": "bytes 0-5/100"}),
        (NAME, {"Content-Range": "pages 1-2/3"}),
    ],
)
def test_a_malformed_request_is_400(client: FlaskClient, name: str, given: dict[str, str]) -> None:
    answer = client.put(f"/api/photo/{name}", data=BYTES, headers=BEARER | given)
    assert (answer.status_code, answer.json["error"]["code"]) == (400, "malformed")
    assert head(client) == (0, "no")


def test_too_large_is_413_at_once(app: Flask) -> None:
    app.config["PHOTO_LARGEST_BYTES"] = 1000
    client = app.test_client()
    assert put(client, BYTES).status_code == 413
    assert put(client, BYTES[:10], 0).status_code == 413
    assert head(client) == (0, "no")


def test_a_piece_beyond_the_limit_of_a_request_is_413(client: FlaskClient) -> None:
    assert put(client, b"\xff\xd8\xff" * 1_000_000).status_code == 413


def test_a_full_disk_is_507_and_the_photo_stays_where_it_is(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*args: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files, "_copy", full)
    answer = put(client, BYTES)
    assert (answer.status_code, answer.json["error"]["code"]) == (507, "disk_full")


def test_a_phone_without_a_token_brings_and_learns_nothing(client: FlaskClient) -> None:
    put(client, BYTES)
    assert client.put(f"/api/photo/{NAME}", data=BYTES).status_code == 401
    assert client.head(f"/api/photo/{NAME}").status_code == 401


def test_a_revoked_phone_still_hands_over_its_photos(client: FlaskClient, db: Database) -> None:
    phones.revoke(db, phones.everyone(db)[0]["id"])
    assert put(client, BYTES).status_code == 201


@pytest.mark.catalogue(49)
def test_entry_before_photo_photo_before_entry_and_photo_never(client: FlaskClient, db: Database) -> None:
    phone = whole_exam()
    entry = attached(phone)
    assert put(client, BYTES).status_code == 201
    assert (register.unnamed(db), register.awaited(db)) == ([NAME], [])
    text = push(phone, [*phone.written[:-1], entry])
    assert client.post("/api/journal", data=text, headers=BEARER).status_code == 200
    assert (register.unnamed(db), register.awaited(db)) == ([], [])


@pytest.mark.catalogue(49)
def test_an_entry_does_not_wait_for_its_photo_and_the_desk_says_what_is_awaited(
    client: FlaskClient, db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    phone = whole_exam()
    entry = attached(phone)
    text = push(phone, [*phone.written[:-1], entry])
    assert client.post("/api/journal", data=text, headers=BEARER).status_code == 200
    assert register.awaited(db) == [NAME]
    browser = sign_in()
    assert "1 photo is named by entries and not yet here" in browser.get("/records").text
    put(client, BYTES)
    assert "not yet here" not in browser.get("/records").text


def test_the_desk_sees_a_photo_as_what_it_is_and_nothing_runs(
    client: FlaskClient, sign_in: Callable[..., FlaskClient]
) -> None:
    put(client, BYTES)
    answer = sign_in().get(f"/photos/{NAME}", buffered=True)
    assert (answer.data, answer.mimetype) == (BYTES, "image/jpeg")
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert sign_in().get("/photos/" + "0" * 64).status_code == 404
    assert sign_in().get("/photos/..%2fpractice.sqlite3").status_code == 404


def test_a_backup_takes_photos_along_once_and_a_restore_brings_them_back(
    client: FlaskClient, db: Database, path: Path, tmp_path: Path
) -> None:
    put(client, BYTES)
    first = backup.backup(db, tmp_path / "copies")
    assert first.photos == 1
    assert backup.backup(db, tmp_path / "copies").photos == 0
    new = tmp_path / "new" / "gelside.sqlite3"
    restore.restore(new, first.path)
    assert files.held(files.folder_of(new), NAME).complete


def test_verify_names_photos_that_are_gone_or_changed(client: FlaskClient, app: Flask, path: Path) -> None:
    put(client, BYTES)
    runner: FlaskCliRunner = app.test_cli_runner()
    good = runner.invoke(args=["verify"])
    assert (good.exit_code, "1 of 1 photos looked at" in good.stderr) == (0, True)
    file = files.path_of(files.folder_of(path), NAME)
    file.write_bytes(BYTES[:-1] + b"x")
    assert f"CHANGED  photo {NAME[:12]}" in runner.invoke(args=["verify"]).output
    file.unlink()
    assert f"look at  photo {NAME[:12]}: its file is not here" in runner.invoke(args=["verify"]).output
