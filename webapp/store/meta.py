"""What the store knows about itself: its id, the desk's device, the practice's name and its settings."""

from sqlite_utils import Database

PIN_ASKED = "pin_asked"  # "yes" or "no": whether phones ask for a PIN
KEEP_DAYS = "keep_days"  # days that acknowledged exams stay on a phone
DEFAULTS = {PIN_ASKED: "yes", KEEP_DAYS: "30"}


def get(db: Database, key: str) -> str:
    """The value kept under `key`: `store_id`, `desk_device`, `practice`, `created_at` or a setting.
    Raises LookupError for what was never kept and has no default."""
    value = find(db, key)
    if value is None:
        raise LookupError(f"The store has no {key}.")
    return value


def find(db: Database, key: str) -> str | None:
    """The value kept under `key`, else its default, else None."""
    row = next(db.query("select value from meta where key = ?", [key]), None)
    return str(row["value"]) if row else DEFAULTS.get(key)


def put(db: Database, key: str, value: str) -> None:
    """Keep `value` under `key`."""
    db.execute(
        "insert into meta (key, value) values (?, ?) on conflict (key) do update set value = excluded.value",
        [key, value],
    )
