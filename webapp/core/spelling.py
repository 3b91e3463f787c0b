"""British or American: the project's own words are written British and turned, word by word, at the last step.

Turned are the labels, hints, notes and rules of the tables and the sentences made of them. Never touched: ids and
what is stored under them, citations, breeds, and whatever a person typed. Pure text in, text out.
"""

BRITISH = "british"
AMERICAN = "american"
SPELLINGS = (BRITISH, AMERICAN)

# Fields of the tables that hold words of this project; every other field is an id, a figure or a citation.
WORDED = ("label", "how", "hints", "words", "note", "population", "statistic", "rule", "adrenal_mass_caution")
UNTOUCHED = ("sources", "source")
# The vocabulary of said words holds both spellings side by side, whatever the practice writes.
UNTURNED = ("spelling", "vocabulary")


def spelled(text: str, spelling: str, words: dict) -> str:
    """The text in this spelling. `words` maps British words, small letters, to American ones; capitals are kept."""
    if spelling != AMERICAN:
        return text
    pieces, start = [], 0
    while start < len(text):
        end = start
        while end < len(text) and _is_letter(text[end]) == _is_letter(text[start]):
            end += 1
        piece = text[start:end]
        found = words.get(piece.lower()) if _is_letter(piece[0]) else None
        pieces.append(_as_written(piece, found) if found else piece)
        start = end
    return "".join(pieces)


def _is_letter(character: str) -> bool:
    """Accented letters belong to a word too, so that no part of a name is taken for one."""
    return "a" <= character <= "z" or "A" <= character <= "Z" or character > "\x7f"


def _as_written(piece: str, found: str) -> str:
    if piece == piece.upper() and len(piece) > 1:
        return found.upper()
    return found[0].upper() + found[1:] if piece[0] == piece[0].upper() else found


def say(text: str, parsed: dict) -> str:
    """A text of this project's own in the spelling of these tables."""
    table = parsed["spelling"]
    return spelled(text, table.get("in_use", BRITISH), table["words"])


def tables(parsed: dict, spelling: str) -> dict:
    """The parsed tables with their own words in this spelling; the given ones stay as they are.

    Which it is stands in them as `in_use` of the table "spelling", for `say`.
    """
    if spelling != AMERICAN:
        return parsed
    words = parsed["spelling"]["words"]
    made = {name: _turned(parsed[name], words, False) for name in parsed if name not in UNTURNED}
    made["vocabulary"] = parsed.get("vocabulary")
    made["spelling"] = {"words": words, "in_use": spelling}
    return made


def _turned(value: object, words: dict, worded: bool) -> object:
    if isinstance(value, dict):
        made = {}
        for key in value:
            if key in UNTOUCHED:
                made[key] = value[key]
            else:
                made[key] = _turned(value[key], words, key in WORDED)
        return made
    if isinstance(value, list):
        return [_turned(item, words, worded) for item in value]
    return spelled(value, AMERICAN, words) if worded and isinstance(value, str) else value
