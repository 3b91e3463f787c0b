"""A file's bytes as a table: any encoding, separator and quoting comes back as it was; nothing else gets past.

Source: RFC 4180; Python's csv module writes what is read here; order of days by the calendar alone.
"""

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.exchange import csv_out, fhir_in, meanings, tables

CELL = st.text(st.characters(codec="cp1252", exclude_categories=["Cc", "Cs"]), max_size=12)
ROWS = st.lists(st.lists(CELL, min_size=3, max_size=3), max_size=6)
MARKED = {"utf-8-sig": "utf-8", "utf-16": "utf-16-le"}


def file(rows: list[list[str]], encoding: str, separator: str, ends: str, quoting: int) -> bytes:
    text = io.StringIO()
    csv.writer(text, delimiter=separator, lineterminator=ends, quoting=quoting).writerows(rows)
    return text.getvalue().encode(encoding)


@given(ROWS, st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"]), st.sampled_from(",;\t"),
       st.sampled_from(["\r\n", "\n"]), st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
def test_every_encoding_separator_and_quoting_comes_back_as_it_was(
    rows: list[list[str]], encoding: str, separator: str, ends: str, quoting: int
) -> None:
    data = file([["number", "name", "note"], *rows], encoding, separator, ends, quoting)
    read = tables.read(data)
    wanted = [[" ".join(cell.split()) for cell in row] for row in rows]
    if encoding == "cp1252" and read.encoding == "utf-8":
        data.decode("utf-8")  # such bytes are UTF-8 as well, and then they are read as that
        return
    assert (read.separator, read.encoding) == (separator, MARKED.get(encoding, encoding))
    assert [cells for _, cells in read.rows] == [row for row in wanted if any(row)]


@given(st.binary(max_size=300), st.sampled_from(["", *tables.ENCODINGS]), st.sampled_from(["", *tables.SEPARATORS]))
def test_whatever_comes_is_a_table_or_refused_with_a_sentence(data: bytes, encoding: str, separator: str) -> None:
    try:
        read = tables.read(data, encoding, separator)
    except tables.Unreadable as error:
        assert str(error).endswith((".", ").", "?"))
    else:
        assert any(read.heading)


@given(st.binary(max_size=200) | st.recursive(st.none() | st.text(), lambda inner: st.lists(inner)).map(
    lambda told: str(told).encode()))
def test_whatever_comes_as_fhir_is_refused_with_a_sentence(data: bytes) -> None:
    with pytest.raises(tables.Unreadable):
        fhir_in.resources(data)


@pytest.mark.parametrize("data, said", [
    (b"", "empty"),
    (b"number,name;species\n1,2\n", "comma and semicolon"),
    (b"number\n1\n", "one column only"),
    (b"number,name,name\n1,2,3\n", "twice or not at all: name"),
    (b'number,name\n1,"open\n', "the quotes do not fit"),
    (b"number,name\n1,\x81\n", "Byte 15 is no character of Windows-1252"),
    (b"number,name\n" + b"x," * 1 + b"y" * 20_001 + b"\n", "more than 20000"),
])
def test_a_file_that_cannot_be_read_says_why(data: bytes, said: str) -> None:
    with pytest.raises(tables.Unreadable, match=said):
        tables.read(data)


def test_a_line_is_named_as_an_editor_counts_it() -> None:
    read = tables.read(b'number,name\n\n1,"two\nlines"\n2,Max\n')
    assert [(line, cells[0]) for line, cells in read.rows] == [(3, "1"), (5, "2")]


DAYS = st.dates(date(1990, 1, 1), date(2030, 12, 31))
WRITTEN = {"dmy": "{0.day}{1}{0.month}{1}{0.year}", "mdy": "{0.month}{1}{0.day}{1}{0.year}",
           "ymd": "{0.year}{1}{0.month:02}{1}{0.day:02}"}


@given(st.lists(DAYS, min_size=1, max_size=8), st.sampled_from(["dmy", "mdy", "ymd"]), st.sampled_from("./-"))
def test_days_are_read_in_their_order_or_asked_about_and_never_guessed(
    days: list[date], order: str, sign: str
) -> None:
    cells = [WRITTEN[order].format(day, sign) for day in days]
    left = meanings.orders(cells)
    assert order in left
    if len(left) > 1:
        assert all(day.day <= 12 for day in days), "asked only where every day can be read both ways"
    assert [meanings.day(cell, order) for cell in cells] == [day.isoformat() for day in days]


@pytest.mark.parametrize("cells, left", [
    (["3/4/2020"], ["dmy", "mdy"]), (["3/4/2020", "13/4/2020"], ["dmy"]), (["3/4/2020", "4/13/2020"], ["mdy"]),
    (["13/4/2020", "4/13/2020"], []), (["2020-04-03"], ["ymd"]), (["3 Apr 2020"], ["ymd"]), ([], ["ymd"]),
    (["31/2/2020", "3/4/2020"], ["dmy", "mdy"]), (["3/4/20"], ["ymd"]), (["3/4/2020 10:30"], ["dmy", "mdy"]),
])
def test_an_order_is_told_by_the_days_or_left_open(cells: list[str], left: list[str]) -> None:
    assert meanings.orders(cells) == left


@pytest.mark.parametrize("text, said", [
    ("3/4/20", "four digits"), ("31/2/2020", "no such day"), ("soon", "Write the day"), ("13/13/2020", "no such day"),
])
def test_what_is_no_day_says_so(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        meanings.day(text, "dmy")


@given(st.text(max_size=12))
def test_no_cell_begins_a_formula_and_all_come_back(text: str) -> None:
    """What spreadsheets run begins with = + - @ or a tab or return (OWASP, CSV injection)."""
    cell = csv_out.harmless(text)
    assert cell.lstrip(" ")[:1] not in ("=", "+", "-", "@", "\t", "\r") or not cell
    assert csv_out.plain(cell) == text
