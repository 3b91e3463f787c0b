"""What the store knows about itself: its id, the desk's device, the practice's name."""

from sqlite_utils import Database


def get(db: Database, key: str) -> str:
    """The value kept under `key`: `store_id`, `desk_device`, `practice` or `created_at`."""
    return str(next(db.query("select value from meta where key = ?", [key]))["value"])


def put(db: Database, key: str, value: str) -> None:
    """Keep `value` under `key`."""
    db.execute(
        "insert into meta (key, value) values (?, ?) on conflict (key) do update set value = excluded.value",
        [key, value],
    )
