"""Copies of the practice's file: whole, checked, named by the moment and the head."""

import re
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask.testing import FlaskCliRunner
from sqlite_utils import Database

from tests.builders import Phone, whole_exam
from webapp.keeping import backup
from webapp.store import chain, heads, journal
from webapp.store.db import open_database, write

NIGHT = datetime(2026, 11, 24, 22, 30, tzinfo=UTC)


def test_a_copy_holds_all_entries_and_is_named_by_moment_and_head(db: Database, tmp_path: Path) -> None:
    journal.append(db, whole_exam().written, "phone")
    made = backup.backup(db, tmp_path / "copies", NIGHT)
    assert made.path.name == f"gelside-20261124T223000Z-{heads.now(db).text}.sqlite3"
    assert made.head == heads.now(db)
    assert made.faults == []
    assert [path.name for path in made.path.parent.iterdir()] == [made.path.name]
    copy = open_database(made.path)
    assert list(copy.query("select * from entries")) == list(db.query("select * from entries"))
    copy.close()


def test_a_copy_is_made_while_somebody_writes(db: Database, path: Path, tmp_path: Path) -> None:
    phone = whole_exam()
    journal.append(db, phone.written[:5], "phone")
    other = open_database(path)
    with write(other):
        journal.append(other, phone.written[5:], "phone")
        made = backup.backup(db, tmp_path / "copies", NIGHT)
    other.close()
    assert made.head.arrival == 5
    assert made.faults == []


def test_a_copy_is_one_file_that_only_its_owner_reads(db: Database, tmp_path: Path) -> None:
    path = backup.backup(db, tmp_path / "copies", NIGHT).path
    assert path.stat().st_mode & 0o077 == 0
    assert sqlite3.connect(path).execute("pragma journal_mode").fetchone() == ("delete",)


@pytest.mark.catalogue(72)
def test_an_edit_by_hand_is_named_at_the_backup_and_the_copy_is_kept_as_damaged(
    db: Database, tmp_path: Path
) -> None:
    journal.append(db, whole_exam().written, "phone")
    db.execute("drop trigger entries_are_never_changed")
    db.execute("update entries set body = replace(body, '6.2', '5.2') where arrival = 2")
    made = backup.backup(db, tmp_path / "copies", NIGHT)
    assert made.path.name.endswith("-damaged.sqlite3")
    assert [fault.text for fault in made.faults if fault.grave][0].startswith("entry 2 (")


@pytest.mark.catalogue(72)
def test_whoever_mends_every_hash_in_the_file_still_meets_the_head_in_the_copys_name(db: Database) -> None:
    """The newest entry replaced with all its hashes, and the heads made anew: only a head printed before tells."""
    phone = whole_exam()
    journal.append(db, phone.written, "phone")
    printed = heads.now(db).text
    forged = Phone()
    forged.place = forged.place._replace(seq=9, prev=phone.place.prev)
    forged.act("noted", {"about": "exam", "text": "never written"})
    checked = chain.entries.check(forged.written[0])
    for row in list(db.query("select name from sqlite_master where type = 'trigger'")):
        db.execute(f"drop trigger {row['name']}")
    before = next(db.query("select id from entries where arrival = 8"))["id"]
    header = forged.written[0]["header"].replace(phone.place.prev, before)
    forged_id = chain.entries.sha256(header)
    db.execute(
        "update entries set id = ?, header = ?, body = ?, kind = 'noted' where arrival = 9",
        [forged_id, header, checked.envelope["body"]],
    )
    head = heads.Head(0, heads.NOTHING)
    for row in db.query("select arrival, id from entries order by arrival"):
        head = heads.following(head, row["arrival"], row["id"])
    db.execute("update heads set head = ?", [head.hash])
    assert chain.verify(db) == []
    faults = chain.verify(db, printed_head=printed)
    assert [fault.grave for fault in faults] == [True]
    assert "not those it was printed for" in faults[0].text


@pytest.mark.parametrize("printed", ["", "x", "12", "12-", "-ab", "12-xyz"])
def test_what_is_no_head_is_said_so(db: Database, printed: str) -> None:
    if printed:
        with pytest.raises(ValueError, match="is no head"):
            chain.verify(db, printed_head=printed)
    else:
        assert chain.verify(db, printed_head=printed) == []


def test_the_newest_entrys_id_as_first_reports_had_it_is_checked_too(db: Database) -> None:
    phone = whole_exam()
    journal.append(db, phone.written, "phone")
    assert chain.verify(db, printed_head=f"9:{phone.place.prev[:16]}") == []
    assert [fault.grave for fault in chain.verify(db, printed_head="9:0123456789abcdef")] == [True]


def test_a_head_beyond_the_file_is_a_fault(db: Database) -> None:
    journal.append(db, whole_exam().written, "phone")
    assert "there is no entry 99" in chain.verify(db, printed_head="99-abcdef")[0].text


def test_the_head_of_a_day_is_its_last(db: Database) -> None:
    written = whole_exam().written
    journal.append(db, written[:2], "phone", "2026-11-23T10:00:00.000+00:00")
    yesterday = heads.now(db)
    journal.append(db, written[2:], "phone", "2026-11-24T10:00:00.000+00:00")
    assert heads.of_day(db, "2026-11-23") == yesterday
    assert heads.of_day(db, "2026-11-24") == heads.now(db)
    assert heads.of_day(db, "2026-11-22") is None
    assert list(heads.wrong(db, yesterday.text)) == []


@pytest.mark.catalogue(50)
def test_a_clock_set_back_changes_no_order_of_arrival_and_no_head(db: Database) -> None:
    written = whole_exam().written
    for envelope, at in zip(written[:4], ("25T10", "24T10", "26T09", "23T23"), strict=True):
        journal.append(db, [envelope], "phone", f"2026-11-{at}:00:00.000+00:00")
    arrivals = [row["id"] for row in db.query("select id from entries order by arrival")]
    assert arrivals == [chain.entries.entry_id(envelope) for envelope in written[:4]]
    assert heads.now(db).arrival == 4
    assert chain.verify(db) == []


def test_the_command_prints_the_copys_path_and_verifies_by_its_head(
    app: object, db: Database, tmp_path: Path, runner: FlaskCliRunner
) -> None:
    journal.append(db, whole_exam().written, "phone")
    answer = runner.invoke(args=["backup", str(tmp_path / "copies")])
    assert answer.exit_code == 0, answer.output
    match = re.search(r"gelside-\d{8}T\d{6}Z-(\d+-[0-9a-f]{16})\.sqlite3", answer.stdout)
    assert match is not None
    assert Path(answer.stdout.strip()).is_file()
    good = runner.invoke(args=["verify", "--head", match.group(1)])
    assert (good.exit_code, "9 of 9 entries looked at" in good.stderr) == (0, True)
    assert runner.invoke(args=["verify", "--head", "9-0000000000000000"]).exit_code == 1
    assert "is no head" in runner.invoke(args=["verify", "--head", "nonsense"]).output


def test_a_folder_that_cannot_be_written_is_named(runner: FlaskCliRunner, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    answer = runner.invoke(args=["backup", str(tmp_path / "file" / "copies")])
    assert answer.exit_code == 1
    assert "Traceback" not in answer.output
