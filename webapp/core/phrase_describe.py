"""Words of the closed lists of descriptors, said of one structure ("liver margin rounded", "left kidney dented").

Strict: a sentence is understood only where nothing stands in it but a place, the name of a list, and words of that
list; without the name, words that stand in one list of this organ alone. Anything else stays as it was said.
"""

from .phrase_clauses import Builder
from .phrase_places import OPEN, structure_ids
from .phrase_values import grouped
from .tables import Tables

PLACE = ("side", "family")
ADRENAL = (
    ("shape", "shape"),
    ("capsule", "capsule"),
    ("layers", "layers"),
    ("echogenicity", "echogenicity"),
    ("fat_around", "fat around it"),
    ("mineral", "mineral"),
)


def proposals(tokens: list, lexemes: list, taken: dict, vocabulary, tables: Tables) -> list:
    """[{"do": "describe", "structure", "described": [{"list", "title", "words"}], "asks", "ask", "tokens"}].

    `taken`: places of tokens that another proposal holds. "structure" is "kidney.?" where the side was not named.
    """
    made = []
    for sentence in _sentences(lexemes):
        first, after = sentence[0].first, sentence[-1].after
        if not any([taken.get(at) for at in range(first, after)]):
            proposal = _described(sentence, tokens[first:after], vocabulary, tables)
            if proposal is not None:
                proposal["tokens"] = list(range(first, after))
                made.append(proposal)
    return made


def _sentences(lexemes: list) -> list:
    """Runs of lexemes between full stops."""
    runs: list = [[]]
    for lexeme in lexemes:
        if lexeme.kind == "stop":
            runs.append([])
        else:
            runs[-1].append(lexeme)
    return [run for run in runs if run]


def _described(sentence: list, tokens: list, vocabulary, tables: Tables) -> dict | None:
    lead = []
    while len(lead) < len(sentence) and sentence[len(lead)].kind in PLACE:
        lead.append(sentence[len(lead)])
    name = _structure(lead, vocabulary)
    if name is None or len(lead) == len(sentence):
        return None
    said = _words(tokens[lead[-1].after - lead[0].first :])
    found = _read(said, lists_of(name, tables)) if said else None
    if not found:
        return None
    asks = ["side"] if OPEN in name else []
    return {"do": "describe", "structure": name, "described": found, "asks": asks, "ask": asks[0] if asks else None}


def _structure(lead: list, vocabulary) -> str | None:
    """The one structure that these lexemes name, or None."""
    if not any([lexeme.kind == "family" for lexeme in lead]):
        return None
    clauses = Builder(grouped(lead), vocabulary).built()
    if len(clauses) != 1 or len(clauses[0].before) != 1:
        return None
    found = structure_ids(clauses[0].before[0], vocabulary)
    return found[0][0] if len(found) == 1 and found[0][1] is None else None


def _words(tokens: list) -> list | None:
    """The words as compared; commas only part them. None where a number or another mark stands among them."""
    said = []
    for token in tokens:
        if token.kind == "word":
            said.append(token.word)
        elif token.kind != "mark" or token.word not in (",", ":"):
            return None
    return said


def lists_of(name: str, tables: Tables) -> list:
    """[{"id", "label", "words"}] of a structure; where the side is open, the words of both sides alone."""
    table = tables.descriptors
    if name[:8] == "adrenal.":
        shapes = table["adrenal"]["shape"]
        made = []
        for group, label in ADRENAL:
            words = table["adrenal"][group] if group != "shape" else (shapes.get(name[8:]) or []) + shapes["both"]
            made.append({"id": group, "label": label, "words": words})
        return made
    return table["organs"].get(table["classes"].get(name) or name.split(".")[0]) or []


def _read(said: list, lists: list) -> list | None:
    """The words list by list, or None where one of them is not understood."""
    found: list = []
    group = None
    at = 0
    while at < len(said):
        if said[at] == "and":
            at += 1
            continue
        named = _longest(said, at, [(row, row["label"]) for row in lists])
        if named is not None:
            group, at = named[0], named[1]
            continue
        among = [group] if group is not None else lists
        word = _longest(said, at, [((row, word), word) for row in among for word in row["words"]])
        if word is None or (group is None and _doubtful(word[0][1], lists)):
            return None
        _keep(found, word[0][0], word[0][1])
        at = word[1]
    return found


def _doubtful(word: str, lists: list) -> bool:
    return len([1 for row in lists if word in row["words"]]) > 1


def _longest(said: list, at: int, choices: list) -> tuple | None:
    """(what, place after it) of the longest wording that stands at this place; a list is named before its words."""
    best = None
    for what, wording in choices:
        words = wording.replace(",", "").lower().split()
        after = at + len(words)
        if said[at:after] == words and (best is None or after > best[1]):
            best = (what, after)
    return best


def _keep(found: list, row: dict, word: str) -> None:
    for one in found:
        if one["list"] == row["id"]:
            one["words"].append(word)
            return
    found.append({"list": row["id"], "title": row["label"], "words": [word]})
