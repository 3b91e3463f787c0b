"""Which photos are here, in the database: what a backup must hold and what entries still wait for."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from webapp.photos import files
from webapp.store import erasures

# Entries of the kind "attached" name a photo by its hash.
NAMES = """
select distinct json_extract(body, '$.hash') as photo from entries where kind = 'attached' and json_valid(body)
  and json_extract(body, '$.hash') glob replace(hex(zeroblob(32)), '0', '[0-9a-f]')
"""


def note(db: Database, folder: Path, name: str, arrived_from: str) -> None:
    """Note that a photo is whole; once, whoever sent it again."""
    path = files.path_of(folder, name)
    db.execute(
        "insert into photos (hash, size, type, arrived_at, arrived_from) values (?, ?, ?, ?, ?) on conflict do nothing",
        [name, path.stat().st_size, files.kind_of(path), datetime.now(UTC).isoformat(timespec="seconds"), arrived_from],
    )


def known(db: Database, name: str) -> dict[str, Any] | None:
    """The photo's row, or None."""
    return next(db.query("select * from photos where hash = ?", [name]), None)


def awaited(db: Database) -> list[str]:
    """Photos that entries name and that have not come: shown as "photo not yet here"."""
    rows = db.query(f"select photo from ({NAMES}) where photo is not null and photo not in (select hash from photos)")
    return sorted(row["photo"] for row in rows)


def unnamed(db: Database) -> list[str]:
    """Photos that are here before any entry names them."""
    rows = db.query(f"select hash from photos where hash not in (select photo from ({NAMES}) where photo is not null)")
    return sorted(row["hash"] for row in rows if not erasures.photo_is_gone(db, row["hash"]))


def faults(
    db: Database, folder: Path, progress: Callable[[int, int], None] = lambda done, total: None
) -> Iterator[tuple[bool, str]]:
    """Photos whose bytes are gone (False: they can come again) or changed (True), one line each."""
    rows = list(db.query("select hash, size from photos order by arrived_at, hash"))
    for done, row in enumerate(rows, 1):
        path = files.path_of(folder, row["hash"])
        if not path.is_file() and erasures.photo_is_gone(db, row["hash"]):
            yield False, f"photo {row['hash'][:12]}: erased with its entry"
        elif not path.is_file():
            yield False, f"photo {row['hash'][:12]}: its file is not here"
        elif files.hash_of(path) != row["hash"]:
            yield True, f"photo {row['hash'][:12]}: its file was changed by hand"
        progress(done, len(rows))
