"""The second change of an entry's row that its triggers let through, for schema.migrations: another version of the
program reads another part of the journal. Only `why` moves, and only between what a version can say of the texts."""

SAYS = "(new.why is null or new.why in ('version', 'kind', 'body_hash', 'body'))"
SAID = SAYS.replace("new.", "old.")

TRIGGER = f"""
create index entries_unread on entries (why) where why in ('version', 'kind');
drop trigger entries_are_never_changed;
create trigger entries_are_never_changed before update on entries
when not (
  ((new.body = '' and old.body != '' and new.why is 'erased' and exists (select 1 from erasures where id = old.id))
    or (new.body is old.body and {SAYS} and {SAID}))
  and new.arrival is old.arrival and new.id is old.id and new.device is old.device and new.seq is old.seq
  and new.exam is old.exam and new.patient is old.patient and new.kind is old.kind and new.header is old.header
  and new.received_at is old.received_at and new.arrived_from is old.arrived_from and new.status is old.status)
begin select raise(abort, 'entries are never changed: add an entry instead'); end;
"""
