"""The table of erased bodies, and the one change of an entry that its triggers let through; for schema.migrations."""

TABLE = """
create table erasures (                       -- entries whose body was taken away on purpose
  id text primary key references entries (id),
  at text not null,
  who text not null,
  why text not null,
  photo text                                  -- hash of the photo or clip that went with it
) strict;
"""

# Only a body goes, only once, and only where the erasure was written down first.
TRIGGERS = """
drop trigger entries_are_never_changed;
create trigger entries_are_never_changed before update on entries
when not (
  new.body = '' and old.body != '' and new.why is 'erased' and exists (select 1 from erasures where id = old.id)
  and new.arrival is old.arrival and new.id is old.id and new.device is old.device and new.seq is old.seq
  and new.exam is old.exam and new.patient is old.patient and new.kind is old.kind and new.header is old.header
  and new.received_at is old.received_at and new.arrived_from is old.arrived_from and new.status is old.status)
begin select raise(abort, 'entries are never changed: add an entry instead'); end;
drop trigger other_bodies_are_never_deleted;
create trigger other_bodies_are_never_deleted before delete on other_bodies
when not exists (select 1 from erasures where id = old.id)
begin select raise(abort, 'other_bodies are never deleted'); end;
"""
