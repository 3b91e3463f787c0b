"""The table of pages for owners. Run by schema.migrations."""

# A page for the owner is no part of the exam's record: it says again, in the vet's words for a lay reader, what a
# version of the report says, and is handed out. So it is kept to the byte like a report, each making with its number;
# a row without documents says that from then on there is none. Nothing is ever changed or taken away.
TABLE = """
create table owner_pages (
  exam text not null,
  number integer not null,                    -- from 1, over makings and switchings off
  version integer not null,                   -- of the report that it goes with
  author text not null,
  made_at text not null,
  words text not null,                        -- JSON: what the vet wrote and ticked; {} where it was switched off
  html text,
  pdf blob,
  plain text,
  html_hash text,
  pdf_hash text,
  primary key (exam, number),
  foreign key (exam, version) references reports (exam, version)
) strict;
"""
