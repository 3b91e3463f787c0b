"""A file's bytes as rows of text: encoding, separator, quotes. What cannot be told is asked, never guessed.

Source: RFC 4180 for quotes and line ends; the byte order marks of Unicode.
"""

import codecs
import csv
import io
from typing import NamedTuple

ENCODINGS = {"utf-8": "UTF-8", "utf-16-le": "UTF-16", "utf-16-be": "UTF-16 (big end first)",
             "cp1252": "Windows-1252"}
MARKS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
MOST_ROWS = 50_000
LONGEST_CELL = 20_000


class Unreadable(ValueError):
    """The file cannot be read as a table; the message says what is wrong and what to do."""


class Table(NamedTuple):
    """The heading and the rows below it, each with its line in the file; all cells as text without outer spaces."""

    heading: list[str]
    rows: list[tuple[int, list[str]]]
    encoding: str
    separator: str


def read(data: bytes, encoding: str = "", separator: str = "") -> Table:
    """The table in a file. `encoding` and `separator`: as chosen by a person, "" to look. Raises Unreadable."""
    if not data.strip(b"\0 \r\n\t"):
        raise Unreadable("The file is empty.")
    text, encoding = decoded(data, encoding)
    separator = separator or _separator(text)
    rows = _rows(text, separator)
    if not rows:
        raise Unreadable("The file holds no heading.")
    heading = rows[0][1]
    if len(heading) != len(set(heading)) or not any(heading):
        twice = sorted({name for name in heading if heading.count(name) > 1})
        raise Unreadable(f"The heading names a column twice or not at all: {', '.join(twice) or 'no names'}.")
    body = [(line, cells) for line, cells in rows[1:] if any(cells)]
    if len(body) > MOST_ROWS:
        raise Unreadable(f"{len(body)} rows: at most {MOST_ROWS} in one file. Split it.")
    return Table(heading, body, encoding, separator)


def decoded(data: bytes, encoding: str = "") -> tuple[str, str]:
    """(text, encoding) of a file: by its mark, else by what it can be. Raises Unreadable."""
    for mark, name in MARKS:
        if data.startswith(mark) and encoding in ("", name):
            return _decode(data[len(mark) :], name), name
    if encoding:
        if encoding not in ENCODINGS:
            raise Unreadable("Choose an encoding from the list.")
        return _decode(data, encoding), encoding
    if b"\0" in data[:400]:
        # A heading of Latin letters: in UTF-16 every second byte of it is zero.
        name = "utf-16-le" if data[:400].find(b"\0") % 2 else "utf-16-be"
        return _decode(data, name), name
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return _decode(data, "cp1252"), "cp1252"


def _decode(data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise Unreadable(
            f"Byte {error.start + 1} is no character of {ENCODINGS[encoding]}. Save the file as UTF-8, or choose "
            "another encoding."
        ) from error


def _separator(text: str) -> str:
    """The one separator that parts the heading. Raises Unreadable where none or more than one does."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    inside, parting = False, dict.fromkeys(SEPARATORS, 0)
    for letter in first:
        if letter == '"':
            inside = not inside
        elif not inside and letter in parting:
            parting[letter] += 1
    found = [letter for letter, times in parting.items() if times]
    if len(found) == 1:
        return found[0]
    if found:
        names = " and ".join(SEPARATORS[letter] for letter in found)
        raise Unreadable(f"The heading holds {names}: choose which of them parts the columns.")
    raise Unreadable("The heading has one column only: columns are parted by commas, semicolons or tabs.")


def _rows(text: str, separator: str) -> list[tuple[int, list[str]]]:
    if separator not in SEPARATORS:
        raise Unreadable("Choose a separator from the list.")
    # A zero character is no text; csv would stop at it in older Pythons and keep it in newer ones.
    if "\0" in text:
        raise Unreadable("The file holds zero characters: choose another encoding.")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[tuple[int, list[str]]] = []
    line = 1
    try:
        for cells in reader:
            if max(map(len, cells), default=0) > LONGEST_CELL:
                raise Unreadable(f"Line {line}: a cell has more than {LONGEST_CELL} characters.")
            if cells:
                rows.append((line, [" ".join(cell.split()) if "\n" not in cell else cell.strip() for cell in cells]))
            line = reader.line_num + 1
    except csv.Error as error:
        raise Unreadable(f"Line {line}: the quotes do not fit ({error}).") from error
    return rows
