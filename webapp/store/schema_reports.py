"""The tables beside the issued reports. Run by schema.migrations."""

# A list over all exams must not open every frozen exam, so what a version recommends is taken out of it where the
# version is kept: in the same transaction, by the database, from the frozen exam itself.
RECOMMENDATIONS = """
create table recommendations (                -- what each issued version recommends, one row each
  exam text not null,
  version integer not null,
  number integer not null,                    -- its place in the report, from 1
  text text not null,
  part text,                                  -- id of a structure, or structure.part
  plane text,
  due text,                                   -- YYYY-MM-DD
  who text,
  primary key (exam, version, number),
  foreign key (exam, version) references reports (exam, version)
) strict;
create index recommendations_due on recommendations (due);
create trigger reports_recommend after insert on reports begin
  insert into recommendations (exam, version, number, text, part, plane, due, who) {of_new};
end;
"""

# Texts only: whatever else a file may hold there is no part, plane, day or person.
_COLUMNS = """
select {report}.exam, {report}.version, one.key + 1, coalesce(json_extract(one.value, '$.text'), ''),
  iif(json_type(one.value, '$.part') = 'text', json_extract(one.value, '$.part'), null),
  iif(json_type(one.value, '$.plane') = 'text', json_extract(one.value, '$.plane'), null),
  iif(json_type(one.value, '$.due') = 'text', json_extract(one.value, '$.due'), null),
  iif(json_type(one.value, '$.who') = 'text', nullif(json_extract(one.value, '$.who'), ''), null)
"""
_FROM = """
from {source} json_each({report}.exam_json, '$.fields.recommendations') as one
where json_type({report}.exam_json, '$.fields.recommendations') = 'array'
  and one.type = 'object' and json_type(one.value, '$.text') = 'text'
"""
_ROWS = _COLUMNS + _FROM

# An addendum settles or drops what an earlier version recommended; the row stays, so that its place goes on naming it.
_ENDED = """
alter table recommendations add column state text;  -- null while it stands; "settled" or "dropped"
alter table recommendations add column why text;    -- the reason of that
drop trigger reports_recommend;
create trigger reports_recommend after insert on reports begin
  insert into recommendations (exam, version, number, text, part, plane, due, who, state, why) {of_new};
end;
"""
_ENDS = """,
  iif(json_extract(one.value, '$.state') in ('settled', 'dropped'), json_extract(one.value, '$.state'), null),
  iif(json_type(one.value, '$.why') = 'text', json_extract(one.value, '$.why'), null)
"""


def recommendations_ended() -> str:
    """The script by which each row says whether it still stands."""
    rows = (_COLUMNS.rstrip() + _ENDS + _FROM).format(report="new", source="")
    return _ENDED.format(of_new=rows)


def recommendations() -> str:
    """The script that makes the table, its trigger, and the rows of what was issued before."""
    table = RECOMMENDATIONS.format(of_new=_ROWS.format(report="new", source=""))
    before = _ROWS.format(report="reports", source="reports,")
    insert = "insert into recommendations (exam, version, number, text, part, plane, due, who)"
    return f"{table}{insert} {before};"


# Handed over before an exam is written up: no signature, so no row of `reports`, and no version.
PRELIMINARY = """
create table preliminary_reports (            -- what was made to be handed over before signing, to the byte
  exam text not null,
  number integer not null,                    -- 1, 2 ... of this exam
  made_by text not null,                      -- JSON: id, name
  issued_at text not null,
  html text not null,
  pdf blob not null,
  plain text not null,
  exam_json text not null,                    -- the exam as folded from what had arrived
  judgement_json text not null,
  html_hash text not null,
  pdf_hash text not null,
  judgement_hash text not null,
  limits_version text not null,
  tables_hash text not null,
  core_version text not null,
  primary key (exam, number)
) strict;
"""

# Looked up for each exam's page, and over all exams for learning.
BESIDE = """
create index entries_beside on entries (kind, exam) where kind in ('told', 'second_read');
"""
