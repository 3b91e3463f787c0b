"""What the practice learns from many exams of its own. Run by schema.migrations."""

# Marks of healthy animals are the desk's own entries; the table is made from the journal and can be made anew.
OWN_REFERENCE = """
create index entries_of_the_desk_by_name on entries (json_extract(body, '$.about'))
where kind = 'set' and exam is null and arrived_from = 'desk' and why is null;
create table measured_exams (                 -- what the exams of healthy animals measured
  exam text primary key,
  through integer not null,                   -- the exam's newest arrival then
  made_by text not null,                      -- versions of rules and tables
  measured text not null                      -- JSON, as the rules give it
) strict;
"""

# Can be made anew from the journal and the issued reports.
LEARNING = """
create table learning_exams (                 -- what each exam adds to the figures for learning
  exam text primary key,
  through integer not null,                   -- the exam's newest arrival then
  made_by text not null,                      -- versions of rules and tables
  date text,
  facts text not null                         -- JSON (webapp.learning.facts)
) strict;
"""
