"""The tables of the practice's own limits and of its learned spread. Run by schema.migrations."""

# The overlay in force is looked up for every exam that is judged.
LIMITS = """
create index entries_of_the_practice on entries (arrival) where kind = 'set' and exam is null;
"""

# Both can be made anew from the journal.
LEARNED = """
create table learned_exams (                  -- what the replicate readings of one exam add
  exam text primary key,
  sums text not null                          -- JSON, as the rules give it
) strict;
create table learned (                        -- one row: what all exams together give
  id integer primary key check (id = 1),
  through integer not null,                   -- newest arrival looked at
  limits_version text not null,               -- whose least number of readings was asked for
  made_at text not null,
  learned text not null                       -- JSON, as the rules give it
) strict;
"""

BEHIND = """
create table exams_behind (                   -- exams whose row in the lists is older than their newest entry
  exam text primary key
) strict, without rowid;
"""

# `touched`: 1 when entries of the exam itself arrived, 0 when only what it is compared with changed. `times` counts
# what arrived since, so that a row judged meanwhile is known to be old already.
BEHIND_WHY = """
alter table exams_behind add column touched integer not null default 1;
alter table exams_behind add column times integer not null default 1;
"""
