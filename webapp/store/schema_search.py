"""The list of exams as it is ordered, filtered and searched. Run by schema.migrations; all can be made anew from the
journal."""

# `people`: JSON, who recorded at the table (for whom somebody typed). `drafted`: 1 when an impression is written.
EXAMS = """
alter table exams add column gravity integer not null default 2;
alter table exams add column species text;
alter table exams add column people text not null default '[]';
alter table exams add column drafted integer not null default 0;
create index exams_in_order on exams (state, gravity, date desc, started_at desc, exam desc);
create index exams_date on exams (date);
create index exams_species on exams (species);
"""

# Folded words, small letters without accents, a mark between what stands apart (store.search).
WORDS = """
create table exam_words (
  id integer primary key,
  exam text not null unique,
  told text not null,                         -- JSON: [place, about, our words, typed words], as the exam says it
  animal text not null,                       -- folded: name, breed, owner, chip, other numbers
  found text not null,                        -- folded: question, findings, notes, what was not seen, impressions
  recorded text not null                      -- folded: names of what was seen or measured
) strict;
create virtual table exam_search using fts5 (
  animal, found, recorded, content = 'exam_words', content_rowid = 'id', prefix = '2 3'
);
create trigger exam_words_in after insert on exam_words begin
  insert into exam_search (rowid, animal, found, recorded) values (new.id, new.animal, new.found, new.recorded);
end;
create trigger exam_words_out after delete on exam_words begin
  insert into exam_search (exam_search, rowid, animal, found, recorded)
  values ('delete', old.id, old.animal, old.found, old.recorded);
end;
create trigger exam_words_other after update of animal, found, recorded on exam_words begin
  insert into exam_search (exam_search, rowid, animal, found, recorded)
  values ('delete', old.id, old.animal, old.found, old.recorded);
  insert into exam_search (rowid, animal, found, recorded) values (new.id, new.animal, new.found, new.recorded);
end;
"""

# The words of exams that are here already are the rules' to fold: made before anyone reads the lists (store.behind).
EARLIER = """
insert into exams_behind (exam, touched, times)
select distinct exam, 0, 1 from entries where exam is not null on conflict (exam) do nothing;
"""
