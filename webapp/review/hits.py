"""Where a search hit: the words of an exam that hold what was asked, with the place they stand in."""

import json
import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp import rules
from webapp.core import spelling
from webapp.store import animals, search

MOST = 3  # places shown of one exam
AROUND = 70  # letters of a long text before and after the first hit
PLACES = {
    "shown": "name",
    "breed": "breed",
    "species": "species",
    "owner.name": "owner",
    "microchip": "chip",
    "numbers": "number",
    "question": "question",
    "impression": "impression",
    "finding": "finding",
    "note": "note",
    "state": "seen or not",
    "recorded": "recorded",
}
Span = tuple[int, int]


class Hit(NamedTuple):
    """One place, and its text in pieces: (words, whether they were asked for)."""

    place: str
    pieces: list[tuple[str, bool]]


class Told(NamedTuple):
    """The places shown of one exam, and how many more somebody wrote that hold all that was asked for."""

    hits: list[Hit]
    more: int


def of(db: Database, query: search.Query, rows: Iterable[dict[str, Any]]) -> dict[str, Told]:
    """By exam, where the query hit; `rows` are rows of the list (exam, patient, animal)."""
    given = {row["exam"]: row for row in rows}
    sql = "select exam, told from exam_words where exam in (select value from json_each(?))"
    made = {}
    for row in db.query(sql, [json.dumps(list(given))]):
        listed = given[row["exam"]]
        texts = list(_texts(search.records_of(db, listed["patient"]), json.loads(listed["animal"]), row["told"]))
        made[row["exam"]] = _told(texts, query)
    return made


class _Text(NamedTuple):
    """A text as it is shown, and the same in another spelling where that differs: it is found by both."""

    place: str
    shown: str
    also: str = ""


def _texts(records: list[dict[str, Any]], own: dict[str, Any], told: str) -> Iterator[_Text]:
    for what, said in dict.fromkeys(search.animal_pieces(records, own)):
        yield _Text(what, unicodedata.normalize("NFC", said))
    american_here = rules.spelling_here() == spelling.AMERICAN
    for place, about, ours, typed in json.loads(told):
        british, american = _ours(about, ours, bool(typed))
        shown, other = (american, british) if american_here else (british, american)
        # So that a letter and its accent are one.
        typed = unicodedata.normalize("NFC", typed)
        yield _Text(place, shown + typed, "" if british == american else other + typed)


def _ours(about: str, ours: str, goes_on: bool) -> tuple[str, str]:
    """Our own words before what was typed, British and American: "LEFT adrenal: not seen · "."""
    label = search.label(about)
    glue = ": " if label and (ours or goes_on) else ""
    written = search.spellings(f"{label}{glue}{ours}{' · ' if ours and goes_on else ''}")
    return written[0], written[-1]


def _told(texts: list[_Text], query: search.Query) -> Told:
    """The places that together hold every word that was asked for, then others that hold all of them."""
    found = [(text, spans) for text in texts if (spans := _spans(text, query)) is not None]
    chosen: list[tuple[_Text, list[list[Span] | None]]] = []
    missing = set(range(len(query.phrases)))
    while missing and len(chosen) < MOST:
        best = max(found, key=lambda one: len(missing & _held(one[1])), default=None)
        if best is None or not missing & _held(best[1]):
            break
        chosen.append(best)
        missing -= _held(best[1])
    whole = [one for one in found if one not in chosen and len(_held(one[1])) == len(query.phrases)]
    written = [one for one in whole if one[0].place != "recorded"]
    shown = (chosen + written)[:MOST]
    hits = [Hit(PLACES[text.place], _pieces(text.shown, _joined(spans))) for text, spans in shown]
    return Told(hits, len(chosen) + len(written) - len(shown))


def _held(spans: list[list[Span] | None]) -> set[int]:
    """Which of the phrases a text holds."""
    return {place for place, one in enumerate(spans) if one is not None}


def _spans(text: _Text, query: search.Query) -> list[list[Span] | None] | None:
    """For each phrase, where it stands in the shown text ([] where only the other spelling holds it), or None; None
    where no phrase does."""
    if not _may_hold(text, query):
        return None
    shown, also = _tokens(text.shown), _tokens(text.also)
    made: list[list[Span] | None] = []
    for place, phrase in enumerate(query.phrases):
        goes_on = place == len(query.phrases) - 1
        found = _standing(shown, phrase, goes_on)
        if not found and text.place in ("microchip", "numbers"):
            joined = _standing(_tokens(animals.digits(text.shown)), phrase, goes_on)
            found = [(0, len(text.shown))] if joined else []
        made.append(found if found or _standing(also, phrase, goes_on) else None)
    return made if any(one is not None for one in made) else None


def _may_hold(text: _Text, query: search.Query) -> bool:
    """A quick look, for most texts hold nothing of what was asked."""
    letters = animals.folded(f"{text.shown} {text.also}")
    if text.place in ("microchip", "numbers"):
        letters += " " + animals.digits(letters)
    return any(phrase[0] in letters for phrase in query.phrases)


class _Token(NamedTuple):
    """A folded word and where it stands in the text."""

    word: str
    start: int
    end: int


def _tokens(text: str) -> list[_Token]:
    return [
        _Token(word, match.start(), match.end())
        for match in re.finditer(r"[^\W_]+", text)
        for word in search.tokens(match[0])
    ]


def _standing(tokens: list[_Token], phrase: tuple[str, ...], goes_on: bool) -> list[Span]:
    spans = []
    for start in range(len(tokens) - len(phrase) + 1):
        here = tokens[start : start + len(phrase)]
        *before, last = (token.word for token in here)
        if tuple(before) == phrase[:-1] and (last == phrase[-1] or (goes_on and last.startswith(phrase[-1]))):
            spans.append((here[0].start, here[-1].end))
    return spans


def _joined(spans: list[list[Span] | None]) -> list[Span]:
    """All spans in order, those that touch as one."""
    made: list[Span] = []
    for start, end in sorted(span for one in spans for span in one or []):
        if made and start <= made[-1][1]:
            made[-1] = (made[-1][0], max(end, made[-1][1]))
        else:
            made.append((start, end))
    return made


def _pieces(text: str, spans: list[Span]) -> list[tuple[str, bool]]:
    """The text around its first hit, cut at spaces, in pieces."""
    start, end = 0, len(text)
    if spans and spans[0][0] > AROUND:
        start = text.rfind(" ", 0, spans[0][0] - AROUND) + 1
    reach = (spans[0][1] if spans else 0) + AROUND
    if end > reach + AROUND:
        end = text.find(" ", reach) if text.find(" ", reach) > 0 else end
    pieces = [("… ", False)] if start else []
    at = start
    for one, other in spans:
        if other <= end:
            pieces += [(text[at:one], False), (text[one:other], True)]
            at = other
    pieces.append((text[at:end], False))
    return [piece for piece in [*pieces, (" …" if end < len(text) else "", False)] if piece[0]]
