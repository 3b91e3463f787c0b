"""The tables of people's sign-ins and of the audit. Run by schema.migrations."""

from sqlite_utils import Database

FORMER_VET = "vet"

# `password_hash` null: no sign-in at the desk. People are never deleted: entries name them.
PEOPLE = """
alter table people add column stopped_at text;            -- since when this person may not sign in any more
alter table people add column password_set_at text;
alter table people add column must_change integer not null default 0;  -- the password came from an admin
"""

SESSIONS = """
create table sessions (                       -- who is or was signed in at the desk
  id text primary key,
  token_hash text not null unique,            -- SHA-256; the token lies only in the browser's cookie
  person text not null references people (id) on delete cascade,
  started_at text not null,                   -- UTC
  seen_at text not null,                      -- last use, to the minute
  address text not null,
  browser text not null,
  refused_before integer not null,            -- refused sign-ins under this name since the sign-in before
  ended_at text,
  why_ended text                              -- signed out, idle, too old, ended by ..., password changed
) strict;
create index sessions_person on sessions (person, started_at);
"""

AUDIT = """
create table audit (                          -- who read or changed what, for ever; no clinical content
  id integer primary key autoincrement,
  at text not null,                           -- UTC
  who text not null,                          -- a person's id, a phone's id, or ""
  session text,
  address text not null,
  act text not null,                          -- the address of the app, such as review.exam_page
  subject text not null,                      -- ids only: exam, animal, phone, person
  status integer not null,                    -- how it was answered, as in HTTP
  told text not null                          -- words of ours, such as "3 entries"
) strict;
create index audit_who on audit (who, id);
create index audit_subject on audit (subject, id);
"""


WAYS = """
create table own_ways (                       -- a person's order of structures and short words; the newest row counts
  id integer primary key autoincrement,
  person text not null references people (id),
  at text not null,
  ways text not null                          -- JSON: order, phrases
) strict;
create index own_ways_person on own_ways (person, id);
"""


def add_people(db: Database) -> None:
    """Add what sign-ins need, and give everyone the roles that keep those doors open that were open."""
    db.executescript(PEOPLE + SESSIONS)
    rows = list(db.query("select id, role, password_hash from people"))
    # "vet" was everything at the desk. Where no vet could sign in, everyone who could did everything.
    heads = [row for row in rows if row["password_hash"] and row["role"] == FORMER_VET]
    heads = heads or [row for row in rows if row["password_hash"]]
    for row in rows:
        role = "reviewer" if row["role"] == FORMER_VET else row["role"]
        if row in heads:
            role += ", admin"
        db.execute("update people set role = ? where id = ?", [role, row["id"]])
