"""The lists of animals and visits. Run by schema.migrations; both can be made anew from the journal."""

LISTS = """
create table animals (                        -- every animal that the desk wrote a record or planned a visit of
  patient text primary key,
  root text not null,                         -- the record that stands for it: itself unless merged
  name text not null,
  species text,
  microchip text,
  search text not null,                       -- what it is found by: folded words, parted by line ends
  forks integer not null,                     -- facts that two people recorded differently
  facts text not null                         -- JSON, as the rules' "day" gives it
) strict;
create index animals_root on animals (root);
create index animals_microchip on animals (microchip) where microchip is not null;
create table visits (
  id text primary key,                        -- the planned entry
  patient text,                               -- the record that stands
  record text,                                -- the record that it was planned for
  date text,
  dates text not null,                        -- more than one, by spaces, where two people moved it to different days
  ever text not null,                         -- every day and person it was ever given to: who may hold it on a phone
  sonographer text,
  cancelled integer not null,
  removed integer not null,                   -- 1: struck, planned by mistake
  number text,                                -- its number in another system
  facts text not null                         -- JSON, as the rules' "day" gives it
) strict;
create index visits_date on visits (date);
create index visits_patient on visits (patient);
create index visits_number on visits (number) where number is not null;
create index entries_outside_exams on entries (patient) where exam is null;
create index entries_merged on entries (arrival) where kind = 'merged' and why is null;
"""
