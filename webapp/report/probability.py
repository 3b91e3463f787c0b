"""The key to the words of probability: printed where the impression or an addendum uses one of the six."""

from webapp.core import wording as core_words

from . import wording
from .case import Case


def key(case: Case) -> str:
    """What the words used stand for, with their source; "" where none is used."""
    table = case.tables["descriptors"]["probability"]
    used = [word for word in table["words"] if _uses(word, _written(case))]
    if not used:
        return ""
    shown = wording.several(f"\u201c{word}\u201d" for word in used)
    source = core_words.source_words(table["source"]).replace(" (reference", ", reference").removesuffix(")")
    return (
        f"Words of probability used here: {shown}. Readers rated six consistently, from no to yes: "
        f"{', '.join(table['words'])}; no percentages are claimed ({source})."
    )


def _written(case: Case) -> str:
    """What a person wrote as impression and in addenda, small letters, words parted by single spaces."""
    texts = [(case.exam.get("fields") or {}).get("impression"), *(row.get("text") for row in _addenda(case))]
    letters = "".join(mark if mark.isalpha() else " " for mark in " ".join(str(text or "") for text in texts).lower())
    return f" {' '.join(letters.split())} "


def _addenda(case: Case) -> list[dict[str, object]]:
    return case.meta.get("amendments") or []


def _uses(word: str, written: str) -> bool:
    return f" {word} " in written
