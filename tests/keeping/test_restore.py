"""The rehearsal: last night's copy in place, phones sync, nothing that a phone wrote is missing."""

import json
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient, FlaskCliRunner
from sqlite_utils import Database

from tests.builders import Phone, push, whole_exam
from tests.conftest import BEARER
from tests.pairing.wire import Desk
from webapp.keeping import backup, lost, restore
from webapp.store import chain, desk, entries, heads, journal, meta, phones, strangers
from webapp.store.db import connections, open_database

NIGHT = datetime(2026, 11, 24, 22, 30, tzinfo=UTC)


def ids(db: Database) -> set[str]:
    return {row["id"] for row in db.query("select id from entries")}


def send(client: FlaskClient, phone: Phone, header: dict[str, str] = BEARER, since: int = 0) -> Any:
    return client.post("/api/journal", data=push(phone, phone.written[since:]), headers=header)


BringBack = Callable[..., restore.Restored]


@pytest.fixture
def bring_back(app: Flask) -> BringBack:
    """As the manual says: stop the server (it lets go of the file), then restore."""

    def act(target: Path, copy: Path, **more: Any) -> restore.Restored:
        connections(app).close()
        return restore.restore(target, copy, **more)

    return act


@pytest.fixture
def copied(client: FlaskClient, path: Path, tmp_path: Path) -> tuple[Phone, Path]:
    """A phone that had sent half of its exam when the copy was made, and all of it since."""
    phone = whole_exam()
    client.post("/api/journal", data=push(phone, phone.written[:4]), headers=BEARER)
    db = open_database(path)
    copy = backup.backup(db, tmp_path / "copies", NIGHT).path
    db.close()
    send(client, phone, since=4)
    return phone, copy


@pytest.mark.catalogue(42)
def test_last_nights_copy_is_healed_by_the_phones(
    bring_back: BringBack, client: FlaskClient, path: Path, copied: tuple[Phone, Path]
) -> None:
    phone, copy = copied
    before = client.get("/api/ping").json["store_id"]
    done = bring_back(path, copy)
    assert done.phones == ["Test phone"]
    receipt = client.post("/api/journal", data=push(phone, []), headers=BEARER).json
    assert receipt["store_id"] != before  # by this, and by `through` gone back, the phone knows
    assert (receipt["through"], receipt["held"]) == (4, 4)
    healed = send(client, phone, since=receipt["through"]).json
    assert (healed["through"], healed["held"]) == (9, 9)
    db = open_database(path)
    assert ids(db) == {entries.entry_id(envelope) for envelope in phone.written}
    assert chain.verify(db) == []
    db.close()


def test_a_known_phone_sends_at_once_and_reads_when_the_desk_agrees(
    bring_back: BringBack,
    client: FlaskClient,
    path: Path,
    copied: tuple[Phone, Path],
    sign_in: Callable[..., FlaskClient],
) -> None:
    bring_back(path, copied[1])
    assert send(client, copied[0]).status_code == 200
    refused = client.get("/api/journal", headers=BEARER)
    assert (refused.status_code, refused.json["error"]["code"]) == (403, "to_approve")
    browser = Desk(sign_in())
    db = open_database(path)
    browser.press(f"/phones/{phones.everyone(db)[0]['id']}/approve")
    db.close()
    assert client.get("/api/journal", headers=BEARER).status_code == 200


def test_a_phone_revoked_since_the_copy_does_not_read_again(
    bring_back: BringBack, client: FlaskClient, path: Path, copied: tuple[Phone, Path]
) -> None:
    db = open_database(path)
    phones.revoke(db, phones.everyone(db)[0]["id"])
    db.close()
    bring_back(path, copied[1])
    assert client.get("/api/practice", headers=BEARER).status_code == 403


def test_a_phone_paired_since_the_copy_asks_by_its_number_and_is_let_in(
    bring_back: BringBack,
    client: FlaskClient,
    path: Path,
    copied: tuple[Phone, Path],
    sign_in: Callable[..., FlaskClient],
) -> None:
    db = open_database(path)
    token = phones.new_token()
    phones.add(db, "New phone", token)
    db.close()
    header = {"Authorization": f"Bearer {token}"}
    stranger = whole_exam(Phone("b2" * 16, exam="another"))
    assert send(client, stranger, header).status_code == 200
    bring_back(path, copied[1])
    refused = send(client, stranger, header)
    assert (refused.status_code, refused.json["error"]["number"]) == (401, strangers.number_of(token))
    browser = Desk(sign_in())
    page = browser.browser.get("/phones").text
    assert strangers.number_of(token) in page
    assert "device b2b2b2b2" in page
    browser.press(f"/phones/strangers/{phones.hash_of(token)}/approve", name="New phone")
    assert send(client, stranger, header).json["held"] == 9
    assert "Asking to be let in" not in browser.browser.get("/phones").text


def test_strangers_are_listed_only_after_a_restore_and_only_so_many(db: Database) -> None:
    assert strangers.asked(db, "any token", None) is None
    meta.put(db, "restored_at", NIGHT.isoformat())
    later = NIGHT.replace(month=12, day=31)
    assert strangers.asked(db, "any token", None, later) is None
    for number in range(strangers.MOST):
        assert strangers.asked(db, f"token {number}", None, NIGHT) is not None
    assert strangers.asked(db, "one more", None, NIGHT) is None
    assert strangers.asked(db, "token 1", None, NIGHT) is not None


def test_acts_of_the_desk_in_the_lost_time_are_listed_where_later_entries_name_them(
    bring_back: BringBack,
    client: FlaskClient,
    path: Path,
    copied: tuple[Phone, Path],
    sign_in: Callable[..., FlaskClient],
) -> None:
    phone, copy = copied
    db = open_database(path)
    assert lost.missing(db) == []
    here: dict[str, Any] = {"author": "RD", "exam": phone.exam, "patient": phone.patient}
    gone = desk.act(db, "set", {"about": "impression", "value": "x"}, **here)
    unnamed = desk.act(db, "noted", {"about": "exam", "text": "x"}, **here)
    db.close()
    bring_back(path, copy)
    phone.act("set", {"about": "impression", "value": "y"}, after=[gone])
    send(client, phone)
    db = open_database(path)
    assert [row["id"] for row in lost.missing(db)] == [gone]
    db.close()
    page = sign_in().get("/records").text
    assert gone[:12] in page
    assert unnamed[:12] not in page
    assert f"copy with head {backup.check(copy)[0].text}" in page


def test_the_restored_desk_writes_under_a_new_device(
    bring_back: BringBack, path: Path, copied: tuple[Phone, Path]
) -> None:
    db = open_database(path)
    before = meta.get(db, "desk_device")
    db.close()
    bring_back(path, copied[1])
    db = open_database(path)
    assert meta.get(db, "desk_device") != before
    db.close()


def test_what_was_there_is_kept_and_is_whole(bring_back: BringBack, path: Path, copied: tuple[Phone, Path]) -> None:
    db = open_database(path)
    held = ids(db)
    db.close()
    done = bring_back(path, copied[1])
    assert done.before is not None
    kept = open_database(done.before)
    assert ids(kept) == held
    kept.close()
    again = bring_back(path, done.before)
    assert again.head.arrival == len(held)


def test_a_restore_with_the_server_at_work_is_refused_and_changes_nothing(
    path: Path, copied: tuple[Phone, Path]
) -> None:
    busy = sqlite3.connect(path)
    busy.execute("begin")
    busy.execute("select count(*) from entries").fetchone()
    before = path.read_bytes()
    with pytest.raises(restore.InUse, match="stop the server"):
        restore.restore(path, copied[1])
    busy.close()
    assert path.read_bytes() == before
    assert not list(path.parent.glob(".restoring-*"))


def test_a_restore_on_a_new_machine_needs_no_file_there(tmp_path: Path, copied: tuple[Phone, Path]) -> None:
    target = tmp_path / "new" / "gelside.sqlite3"
    assert restore.restore(target, copied[1]).before is None
    db = open_database(target)
    assert len(ids(db)) == 4
    db.close()


def test_a_file_too_broken_to_open_is_put_aside_with_its_log(
    bring_back: BringBack, path: Path, copied: tuple[Phone, Path]
) -> None:
    path.write_bytes(b"not a database at all, but somebody's only copy" * 100)
    log = Path(f"{path}-wal")
    log.write_bytes(b"its log")
    done = bring_back(path, copied[1])
    assert done.before is not None
    assert done.before.read_bytes().startswith(b"not a database")
    assert Path(f"{done.before}-wal").read_bytes() == b"its log"
    assert not log.exists()
    db = open_database(path)
    assert len(ids(db)) == 4
    db.close()


@pytest.mark.parametrize("content", [b"", b"nonsense" * 1000])
def test_what_is_no_copy_is_refused_and_changes_nothing(
    bring_back: BringBack, path: Path, tmp_path: Path, content: bytes
) -> None:
    other = tmp_path / "other.sqlite3"
    other.write_bytes(content)
    before = path.read_bytes()
    for copy in (other, tmp_path / "none"):
        with pytest.raises(backup.BackupError):
            bring_back(path, copy)
    assert path.read_bytes() == before
    assert not list(path.parent.glob(".restoring-*"))


def test_a_truncated_copy_is_refused(bring_back: BringBack, path: Path, copied: tuple[Phone, Path]) -> None:
    copy = copied[1]
    copy.write_bytes(copy.read_bytes()[: copy.stat().st_size // 2])
    with pytest.raises(backup.BackupError):
        bring_back(path, copy)


@pytest.mark.catalogue(72)
def test_a_copy_changed_by_hand_is_refused_unless_asked_for(
    bring_back: BringBack, path: Path, copied: tuple[Phone, Path]
) -> None:
    copy = copied[1]
    edit = sqlite3.connect(copy)
    edit.execute("drop trigger entries_are_never_changed")
    edit.execute("update entries set body = replace(body, '6.2', '5.2') where arrival = 2")
    edit.commit()
    edit.close()
    with pytest.raises(backup.BackupError, match="entry 2 .* changed by hand"):
        bring_back(path, copy)
    done = bring_back(path, copy, even_damaged=True)
    assert any(fault.grave for fault in done.faults)


def test_the_command_says_what_to_do_next(app: Flask, runner: FlaskCliRunner, copied: tuple[Phone, Path]) -> None:
    connections(app).close()
    answer = runner.invoke(args=["restore", str(copied[1])])
    assert answer.exit_code == 0, answer.output
    assert "Restored: 4 entries, head 4-" in answer.output
    assert "Approve each at the desk: Test phone" in answer.output
    assert runner.invoke(args=["restore", "none.sqlite3"]).exit_code == 1


@pytest.mark.catalogue(43)
def test_an_empty_server_acknowledges_nothing_to_a_phone_it_does_not_know(tmp_path: Path, app: Flask) -> None:
    from webapp import create_app

    wrong = create_app({"DATABASE": str(tmp_path / "wrong.sqlite3")}).test_client()
    answer = send(wrong, whole_exam())
    assert (answer.status_code, "results" in answer.json) == (401, False)
    db = open_database(tmp_path / "wrong.sqlite3")
    assert ids(db) == set()
    db.close()


def test_a_restored_store_opens_what_was_sealed_before(
    bring_back: BringBack, path: Path, copied: tuple[Phone, Path]
) -> None:
    from webapp.sync import sealed

    db = open_database(path)
    key = sealed.public_key(db)
    copy = backup.backup(db, copied[1].parent, NIGHT.replace(minute=40)).path
    db.close()
    bring_back(path, copy)
    db = open_database(path)
    assert sealed.public_key(db) == key
    db.close()


def test_a_head_survives_copy_and_restore(bring_back: BringBack, path: Path, copied: tuple[Phone, Path]) -> None:
    printed = json.dumps(backup.check(copied[1])[0].text)
    bring_back(path, copied[1])
    db = open_database(path)
    assert json.dumps(heads.now(db).text) == printed
    journal.append(db, whole_exam(Phone("d4" * 16)).written, "phone")
    assert chain.verify(db, printed_head=json.loads(printed)) == []
    db.close()
