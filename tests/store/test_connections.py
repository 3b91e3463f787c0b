"""Connections handed from request to request: none carries anything over, none speaks to a file put aside."""

import sqlite3
from pathlib import Path

import pytest
from flask import Flask

from tests.builders import push, whole_exam
from tests.conftest import BEARER
from webapp.store.connections import MOST_IDLE, Connections
from webapp.store.db import drop_db, get_db, open_database


def test_one_request_hands_its_connection_to_the_next(app: Flask) -> None:
    with app.app_context():
        first = get_db()
    with app.app_context():
        assert get_db() is first


def test_two_requests_at_once_never_share_one(app: Flask) -> None:
    with app.app_context():
        first = get_db()
        with app.app_context():
            assert get_db() is not first


def test_what_a_request_left_open_is_undone(app: Flask) -> None:
    with app.app_context():
        db = get_db()
        db.execute("begin immediate")
        db.execute("insert into meta values ('half', 'done')")
    with app.app_context():
        assert not get_db().conn.in_transaction
        assert list(get_db().query("select * from meta where key = 'half'")) == []


def test_a_connection_that_failed_is_not_used_again(app: Flask) -> None:
    with app.app_context():
        first = get_db()
        drop_db()
        second = get_db()
        assert second is not first
        with pytest.raises(sqlite3.ProgrammingError):
            first.execute("select 1")


def test_after_a_file_was_put_in_its_place_nobody_gets_the_old_one(path: Path, tmp_path: Path) -> None:
    other = open_database(tmp_path / "other.sqlite3")
    other.execute("update meta set value = 'the other' where key = 'practice'")
    other.close()
    kept = Connections(str(path), lambda: open_database(path))
    kept.give(kept.take())
    (tmp_path / "other.sqlite3").replace(path)
    lent = kept.take()
    assert next(lent.database.query("select value from meta where key = 'practice'"))["value"] == "the other"
    lent.database.close()


def test_only_so_many_are_kept(path: Path) -> None:
    kept = Connections(str(path), lambda: open_database(path))
    lent = [kept.take() for _ in range(MOST_IDLE + 2)]
    for one in lent:
        kept.give(one)
    with pytest.raises(sqlite3.ProgrammingError):
        lent[-1].database.execute("select 1")
    assert lent[0].database.execute("select 1").fetchone() == (1,)
    kept.close()


def test_every_request_sees_what_the_one_before_kept(app: Flask) -> None:
    client = app.test_client()
    assert client.post("/api/journal", data=push(whole_exam()), headers=BEARER).json["held"] == 9
    assert client.post("/api/journal", data=push(whole_exam()), headers=BEARER).json["held"] == 9
    with app.app_context():
        assert get_db().execute("select count(*) from entries").fetchone() == (9,)
