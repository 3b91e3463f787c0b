"""The tables of the second format of the store: heads, pairing, sealing, photos. Run by schema.migrations."""

import hashlib

from sqlite_utils import Database

HEADS = """
create table heads (                          -- one hash over all arrivals, as it stood at each day's end
  day text primary key,                       -- UTC date of arrival
  arrival integer not null unique,            -- newest entry the head covers
  head text not null                          -- SHA-256 of (head before, id), from 64 zeros on
) strict;
"""

# `split_at`: the smallest count at which the device's chain does not hold together (used twice, or a
# wrong link): a copied phone. Null for all others.
SPLIT = "alter table devices add column split_at integer;"

PHONES = """
alter table phones add column state text not null default 'approved';  -- approved, revoked, to_approve
alter table phones add column revoked_at text;
alter table phones add column revoked_after integer;  -- newest arrival when it was revoked
alter table phones add column report text;    -- JSON, what the phone last said of itself
alter table phones add column reported_at text;
alter table phones add column storage_lost_at text;  -- when it first came back with another storage

create table pairings (
  id text primary key,
  secret_hash text not null unique,           -- SHA-256; neither the secret nor the code is kept
  code_hash text not null unique,
  made_by text not null,
  made_at text not null,
  until text not null,                        -- UTC; past it nothing goes on
  state text not null,                        -- open, waiting, confirmed, collected, refused
  device text,
  name text,
  app text,
  number text,                                -- six digits that desk and phone compare
  poll_hash text,
  person text references people (id),
  phone text references phones (id)
) strict;

create table pairing_attempts (               -- what was tried, for ever
  id integer primary key,
  at text not null,
  address text not null,
  device text,
  outcome text not null
) strict;
create index pairing_attempts_at on pairing_attempts (at);

create table unknown_phones (                 -- tokens this store does not know, after a restore
  token_hash text primary key,
  number text not null,                       -- six digits made from the token, shown on the phone too
  device text,
  first_seen text not null,
  last_seen text not null
) strict;

create table sealing_keys (                   -- in the file, so that a restored copy still opens sealed journals
  id text primary key,
  private_pem text not null,
  made_at text not null
) strict;
"""

PHOTOS = """
create table photos (                         -- whole and verified; the bytes lie beside this file
  hash text primary key,                      -- SHA-256 of the bytes
  size integer not null,
  type text not null,
  arrived_at text not null,
  arrived_from text not null
) strict;
"""

HEARD = """
create table heard (                          -- a program's text of a clip; a person's is an entry
  hash text primary key,                      -- SHA-256 of the clip
  text text not null,
  by_program text not null,
  at text not null
) strict;
"""

_SPLITS = """
update devices set split_at = (
  select min(one.seq) from entries as one where one.device = devices.device and (
    exists (select 1 from entries as other
            where other.device = one.device and other.seq = one.seq and other.id != one.id)
    or exists (select 1 from entries as before where before.device = one.device and before.seq = one.seq - 1)
    and not exists (select 1 from entries as before where before.device = one.device and before.seq = one.seq - 1
                    and before.id = json_extract(one.header, '$.prev'))
    or one.seq = 1 and json_extract(one.header, '$.prev') != '{zeros}'))
"""
FIND_SPLITS = _SPLITS.replace("{zeros}", "0" * 64)


def add_heads(db: Database) -> None:
    """Make the heads of all days so far."""
    db.executescript(HEADS)
    head = "0" * 64
    days: dict[str, tuple[int, str]] = {}
    for row in db.query("select arrival, id, substr(received_at, 1, 10) as day from entries order by arrival"):
        head = hashlib.sha256(f"{head}{row['id']}".encode()).hexdigest()
        days[row["day"]] = (row["arrival"], head)
    for day, (arrival, at_its_end) in days.items():
        db.execute("insert into heads (day, arrival, head) values (?, ?, ?)", [day, arrival, at_its_end])


def add_splits(db: Database) -> None:
    """Mark the devices whose chain is split already."""
    db.executescript(SPLIT)
    db.execute(FIND_SPLITS)
