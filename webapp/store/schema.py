"""The tables, as named migrations. Each is recorded in the same transaction as its change."""

import secrets
from datetime import UTC, datetime
from importlib import import_module

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from webapp.store import (
    schema_animals,
    schema_erasures,
    schema_learning,
    schema_owner,
    schema_people,
    schema_phones,
    schema_practice,
    schema_readable,
    schema_reports,
    schema_search,
)
from webapp.store.entries import new_device

migrations = Migrations("gelside")

JOURNAL = """
create table entries (
  arrival integer primary key autoincrement,  -- order of arrival here: the cursor of a pull
  id text not null unique,                    -- SHA-256 of the header
  device text,                                -- this and the next five: copied from the header,
  seq integer,                                --   null where the header cannot be read
  exam text,
  patient text,
  kind text,
  header text not null,                       -- as received
  body text not null,                         -- as received
  received_at text not null,
  arrived_from text not null,                 -- "desk", "file", or the id of the phone that sent it
  status text not null,                       -- what the sender was told
  why text                                    -- null, or why the rules cannot read it
) strict;
create index entries_device on entries (device, seq);
create index entries_exam on entries (exam);
create index entries_patient on entries (patient);
create index entries_planned on entries (json_extract(body, '$.date')) where kind = 'planned' and why is null;

create table other_bodies (                   -- a second, different body under an id already held
  id text not null references entries (id),
  body text not null,
  received_at text not null,
  arrived_from text not null,
  primary key (id, body)
) strict;
"""

APPEND_ONLY = """
create trigger {table}_are_never_changed before update on {table}
begin select raise(abort, '{table} are never changed: add an entry instead'); end;
create trigger {table}_are_never_deleted before delete on {table}
begin select raise(abort, '{table} are never deleted'); end;
"""

PEOPLE_AND_PHONES = """
create table people (
  id text primary key,                        -- as authors are written in entries
  name text not null,
  role text not null,
  password_hash text,                         -- null: this person cannot sign in at the desk
  created_at text not null
) strict;
create table phones (
  id text primary key,
  name text not null,
  token_hash text not null unique,            -- SHA-256 of the bearer token; the token is not kept
  person text references people (id),
  created_at text not null,
  last_contact text,
  last_device text
) strict;
create table meta (key text primary key, value text not null) strict;
"""

REBUILDABLE = """
create table devices (                        -- per device: what is held of it
  device text primary key,
  through integer not null,                   -- 1..through are all held
  held integer not null
) strict;
create table exams (                          -- for lists; equals what the journal gives
  exam text primary key,
  patient text,
  date text,
  started_at text,
  animal text not null,                       -- JSON: name, species, breed, weight_kg
  question text not null,
  state text not null,
  reasons text not null,                      -- JSON: why someone should look, gravest first
  entries integer not null,
  trouble text,                               -- set when the rules could not read the exam
  core_version text not null,
  tables_hash text not null
) strict;
create index exams_patient on exams (patient);
"""

REPORTS = """
create table reports (                        -- what was issued, to the byte
  exam text not null,
  version integer not null,
  signed_id text not null references entries (id),
  status text not null,
  signer text not null,                       -- JSON: id, name
  issued_at text not null,
  html text not null,
  pdf blob not null,
  plain text not null,
  exam_json text not null,                    -- the exam as folded from what the signature covers
  judgement_json text not null,
  html_hash text not null,
  pdf_hash text not null,
  judgement_hash text not null,
  limits_version text not null,
  tables_hash text not null,
  core_version text not null,
  primary key (exam, version)
) strict;
"""


@migrations()
def m001_journal(db: Database) -> None:
    _run(db, JOURNAL)
    for table in ("entries", "other_bodies"):
        _run(db, APPEND_ONLY.format(table=table))


@migrations()
def m002_people_phones_meta(db: Database) -> None:
    _run(db, PEOPLE_AND_PHONES)
    now = datetime.now(UTC).isoformat(timespec="seconds")
    db.table("meta").insert_all(
        [
            {"key": "store_id", "value": secrets.token_hex(16)},
            {"key": "desk_device", "value": new_device()},
            {"key": "practice", "value": "Practice without a name"},
            {"key": "created_at", "value": now},
        ]
    )


@migrations()
def m003_projections(db: Database) -> None:
    _run(db, REBUILDABLE)


@migrations()
def m004_reports(db: Database) -> None:
    _run(db, REPORTS + APPEND_ONLY.format(table="reports"))


@migrations()
def m005_heads(db: Database) -> None:
    schema_phones.add_heads(db)


@migrations()
def m006_splits(db: Database) -> None:
    schema_phones.add_splits(db)


@migrations()
def m007_pairing(db: Database) -> None:
    _run(db, schema_phones.PHONES + APPEND_ONLY.format(table="pairing_attempts"))


@migrations()
def m008_photos(db: Database) -> None:
    _run(db, schema_phones.PHOTOS + APPEND_ONLY.format(table="photos"))


@migrations()
def m009_practice(db: Database) -> None:
    _run(db, schema_practice.LIMITS + schema_practice.LEARNED)


@migrations()
def m010_behind(db: Database) -> None:
    _run(db, schema_practice.BEHIND)


@migrations()
def m011_animals(db: Database) -> None:
    _run(db, schema_animals.LISTS)
    # By name: the lists are made by the rules, which stand above the store's tables.
    import_module("webapp.store.animals").rebuild(db)


@migrations()
def m012_people(db: Database) -> None:
    schema_people.add_people(db)


@migrations()
def m013_audit(db: Database) -> None:
    _run(db, schema_people.AUDIT + APPEND_ONLY.format(table="audit"))


@migrations()
def m014_behind_why(db: Database) -> None:
    _run(db, schema_practice.BEHIND_WHY)


@migrations()
def m015_erasures(db: Database) -> None:
    _run(db, schema_erasures.TABLE + APPEND_ONLY.format(table="erasures") + schema_erasures.TRIGGERS)


@migrations()
def m016_heard(db: Database) -> None:
    _run(db, schema_phones.HEARD)


@migrations()
def m017_ways(db: Database) -> None:
    _run(db, schema_people.WAYS + APPEND_ONLY.format(table="own_ways"))


@migrations()
def m018_search(db: Database) -> None:
    _run(db, schema_search.EXAMS + schema_search.WORDS + schema_search.EARLIER)


@migrations()
def m020_recommendations(db: Database) -> None:
    _run(db, schema_reports.recommendations() + APPEND_ONLY.format(table="recommendations"))


@migrations()
def m021_preliminary(db: Database) -> None:
    _run(db, schema_reports.PRELIMINARY + APPEND_ONLY.format(table="preliminary_reports") + schema_reports.BESIDE)


@migrations()
def m024_owner_pages(db: Database) -> None:
    _run(db, schema_owner.TABLE + APPEND_ONLY.format(table="owner_pages"))


@migrations()
def m025_own_reference(db: Database) -> None:
    _run(db, schema_learning.OWN_REFERENCE)


@migrations()
def m026_learning(db: Database) -> None:
    _run(db, schema_learning.LEARNING)


@migrations()
def m029_readable(db: Database) -> None:
    _run(db, schema_readable.TRIGGER)


@migrations()
def m030_recommendations_ended(db: Database) -> None:
    _run(db, schema_reports.recommendations_ended())


def _run(db: Database, script: str) -> None:
    # sqlite-utils keeps these inside the open transaction; sqlite3's own executescript would commit it.
    db.executescript(script)


NAMES = frozenset(name for name in globals() if name.startswith("m0"))
