"""The report as a tagged PDF (PDF/UA-1), byte for byte the same whenever it is made from the same report."""

import json
import re
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import typst

from . import fonts
from .case import Json

_LAYOUT = Path(__file__).parent / "report.typ"
_LONGEST_WORD = 24
_DENSITIES = ("roomy", "snug", "tight")
_PAGE = re.compile(rb"/Type\s*/Page\b(?!s)")


def pdf(report: Json) -> bytes:
    """The PDF's bytes. The words reach the layout only as JSON data, so nothing in them can become markup.

    A character without a glyph in the shipped fonts is printed as its code point. Should typst still refuse a
    combination of characters, the report is made once more with all but Latin letters as code points: a report
    that cannot be signed would be worse than one that spells a letter out.
    """
    try:
        return _fewest_pages(report, fonts.printable)
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise
        return _fewest_pages(report, fonts.plain)


def _fewest_pages(report: Json, spell: Callable[[str], str]) -> bytes:
    """Set with room; closer, in the same sizes of type, only where that saves a page."""
    best = _compile(report, spell, _DENSITIES[0])
    for density in _DENSITIES[1:]:
        if _pages(best) == 1:
            break
        closer = _compile(report, spell, density)
        if _pages(closer) < _pages(best):
            best = closer
    return best


def _pages(document: bytes) -> int:
    """How many pages typst made: it writes each page's own dictionary openly, outside any stream."""
    return len(_PAGE.findall(document))


def _compile(report: Json, spell: Callable[[str], str], density: str) -> bytes:
    return compiled(_LAYOUT, report | {"density": density}, spell)


def compiled(layout: Path, words: Json, spell: Callable[[str], str]) -> bytes:
    """A layout's PDF of these words, `issued_at` among them: the shipped fonts only, and no clock but that."""
    moment = _moment(words["issued_at"])
    data = _spelled(words, spell) | {
        "stamp": [moment.year, moment.month, moment.day, moment.hour, moment.minute, moment.second],
    }
    made: bytes = typst.compile(
        str(layout),
        font_paths=[str(fonts.FOLDER)],
        ignore_system_fonts=True,
        format="pdf",
        pdf_standards="ua-1",
        timestamp=int(moment.timestamp()),
        sys_inputs={"report": json.dumps(data, ensure_ascii=True, sort_keys=True)},
    )
    return made


def _moment(text: str) -> datetime:
    """The issue time in UTC; a report without one carries the epoch, never the clock of the machine."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return datetime(1970, 1, 1, tzinfo=UTC)
    return moment.astimezone(UTC) if moment.tzinfo else moment.replace(tzinfo=UTC)


def _spelled(value: Any, spell: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return _breakable(spell(value))
    if isinstance(value, list):
        return [_spelled(item, spell) for item in value]
    if isinstance(value, dict):
        return {key: item if key == "svg" else _spelled(item, spell) for key, item in value.items()}
    return value


def _breakable(text: str) -> str:
    """Room to break inside a word too long for a line (a zero-width space), so that nothing runs off the paper."""
    if len(text) <= _LONGEST_WORD:
        return text
    return "".join(_opened(word) for word in _words(text))


def _words(text: str) -> list[str]:
    pieces, start = [], 0
    for place, letter in enumerate(text):
        if letter.isspace():
            pieces += [text[start:place], letter]
            start = place + 1
    return [*pieces, text[start:]]


def _opened(word: str) -> str:
    if len(word) <= _LONGEST_WORD:
        return word
    return "\u200b".join(word[at : at + _LONGEST_WORD] for at in range(0, len(word), _LONGEST_WORD))
