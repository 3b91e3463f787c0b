"""Rows on their way in: read, found fit or faulty, compared with what is there. Nothing is written here."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from webapp.exchange import columns, meanings
from webapp.exchange.tables import Table

Progress = Callable[[str, int, int], None]  # what is done, done, of how many


class Problem(NamedTuple):
    """What is wrong with one cell: its line in the file, its column, a sentence."""

    line: int
    column: str
    text: str


class Choices(NamedTuple):
    """What a person chose for a file; "" where the file tells it."""

    kind: str
    label: str = ""  # whose numbers these are: the other system's name
    encoding: str = ""
    separator: str = ""
    order: str = ""  # of day, month and year
    unit: str = "kg"
    mapping: Mapping[str, str] | None = None  # column of the file -> what it says; None: by the heading's words


class Row(NamedTuple):
    """One row that can be taken in: its line, its number there, what it says of an animal or a visit."""

    line: int
    number: str
    facts: dict[str, Any]
    animal: str = ""  # of a visit: the animal's number there
    id: str = ""  # the animal's or the visit's own id here, where the file names it


class Change(NamedTuple):
    """What taking a row in would do: "new", "changed" or "same"; in words what changes."""

    row: Row
    what: str
    target: str  # the animal's or the visit's id; "" for a new one
    words: list[str]


class Plan(NamedTuple):
    """What taking a file in would do, and what is in the way."""

    changes: list[Change]
    problems: list[Problem]

    def count(self, what: str) -> int:
        return sum(change.what == what for change in self.changes)


class Cells:
    """One row's cells by what they say; a ValueError of a reader becomes a problem of that cell."""

    def __init__(self, line: int, by_field: Mapping[str, str], names: Mapping[str, str], problems: list[Problem]):
        self.line, self._cells, self._names, self._problems = line, by_field, names, problems
        self.sound = True

    def text(self, field: str) -> str:
        return self._cells.get(field, "")

    def read(self, field: str, reader: Callable[[str], Any]) -> Any:
        """What the reader makes of the cell; None for an empty cell and for one that it cannot read."""
        text = self.text(field)
        if not text:
            return None
        try:
            return reader(text)
        except ValueError as error:
            self.fault(field, str(error))
            return None

    def fault(self, field: str, text: str) -> None:
        self._problems.append(Problem(self.line, self._names.get(field, field), text))
        self.sound = False


def cells(table: Table, choices: Choices, mapping: Mapping[str, str], problems: list[Problem]) -> list[Cells]:
    """Every row's cells. A row with more cells than the heading is a problem: its columns may have slipped."""
    names = {field: name for name, field in mapping.items()}
    places = {field: table.heading.index(name) for field, name in names.items()}
    made = []
    for line, row in table.rows:
        texts = {field: meanings.cell(row[place]) if place < len(row) else "" for field, place in places.items()}
        said = {field: "" if meanings.empty(text) else text for field, text in texts.items()}
        one = Cells(line, said, names, problems)
        if len(row) != len(table.heading):
            one.fault("", f"{len(row)} cells, the heading has {len(table.heading)}: a separator inside a text?")
        for field, column in columns.KNOWN[choices.kind].items():
            if column.needed and not one.text(field) and one.sound:
                one.fault(field, "is empty.")
        made.append(one)
    return made


def once(rows: list[Row], names: Mapping[str, str], problems: list[Problem]) -> list[Row]:
    """The rows without those whose number came before."""
    seen: dict[str, int] = {}
    kept = []
    for row in rows:
        if row.number in seen:
            text = f"{row.number} stands in line {seen[row.number]} already."
            problems.append(Problem(row.line, names.get("number", "number"), text))
        else:
            seen[row.number] = row.line
            kept.append(row)
    return kept
