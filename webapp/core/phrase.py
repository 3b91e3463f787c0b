"""Said or typed words -> proposals that a person accepts one by one. It refuses rather than guesses.

No proposal holds a number that was not said or a side that was not named (or stands in the sticky context); what was
not understood comes back as left-over words. The words are those of tables/vocabulary.json; no clock is read: the
age of the sticky context is given by the caller.
"""

from . import phrase_corrections, phrase_describe, phrase_vocabulary, shapes
from .errors import CoreError
from .phrase_clauses import Builder
from .phrase_finish import Finisher
from .phrase_lexer import Lexer
from .phrase_places import OPEN, structure_ids
from .phrase_reading import Reader
from .phrase_values import grouped
from .tables import Tables

SOFT = ("fillers", "comma", "stop", "and", "dash")
MACHINES = ("mm", "cm")


def read(request: dict, tables: Tables) -> dict:
    """{"proposals": [...], "left_over": text, "sticky": {...} | None} for {"text", "species", "unit", "sticky"}.

    `unit` is the machine's ("mm" or "cm"); `sticky` {"structure", "part", "quantity", "age_s"} of an earlier answer.
    CoreError codes: wrong_type, not_in_list, too_long, unknown_structure, unknown_quantity.
    """
    vocabulary = phrase_vocabulary.of(tables)
    text = shapes.text(request.get("text"), "text")
    if len(text) > vocabulary.table["longest"]:
        raise CoreError("too_long", "that is too long to be read at once: say or type a part of it")
    species = str(shapes.species(request.get("species"), "species"))
    machine = request.get("unit") or "mm"
    if machine not in MACHINES:
        raise CoreError("unknown_unit", "the machine's unit is mm or cm")
    context, sticky = _sticky(request.get("sticky"), vocabulary)
    proposals, tokens, lexemes, reader = _proposals(text, species, machine, context, sticky, vocabulary)
    taken: dict = {}
    for proposal in proposals:
        for at in proposal["tokens"]:
            taken[at] = True
    proposals = proposals + phrase_describe.proposals(tokens, lexemes, taken, vocabulary, tables)
    answer = {"proposals": proposals, "left_over": _left_over(text, tokens, lexemes, proposals)}
    answer["sticky"] = _new_sticky(reader, proposals, vocabulary)
    answer["only_place"] = not proposals and answer["sticky"] is not None and _only_place(lexemes)
    for proposal in proposals:
        proposal["said"] = _said(text, tokens, proposal.pop("tokens"))
    return answer


def _proposals(text: str, species: str, machine: str, context, sticky: str | None, vocabulary) -> tuple:
    tokens = phrase_vocabulary.tokens_of(text, vocabulary)
    lexemes = Lexer(tokens, vocabulary, context.family if context is not None else None).lexemes()
    clauses = Builder(grouped(lexemes), vocabulary).built()
    reader = Reader(vocabulary, context, sticky)
    finisher = Finisher(vocabulary, species, machine, _phrase_unit(lexemes))
    proposals = []
    for draft in reader.read(clauses, len(tokens)):
        proposal = finisher.proposal(draft)
        if proposal is None:
            continue
        if draft["do"] == "note":
            proposal["text"] = _noted(text, tokens, draft["from"])
            if not proposal["text"]:
                continue
        proposal["tokens"] = draft["tokens"]
        proposals.append(proposal)
    return proposals, tokens, lexemes, reader


def _noted(text: str, tokens: list, at: int) -> str:
    """What stands behind the word "note", as it was written."""
    while at < len(tokens) and tokens[at].kind == "mark" and tokens[at].word in ":,.-":
        at += 1
    return text[tokens[at].start : tokens[-1].end] if at < len(tokens) else ""


def _phrase_unit(lexemes: list) -> str | None:
    """The length unit said exactly once, which then holds for the whole phrase."""
    said = [lexeme.value for lexeme in lexemes if lexeme.kind == "unit" and lexeme.value in MACHINES]
    return said[0] if len(said) == 1 else None


def _sticky(given: object, vocabulary) -> tuple:
    """(place, quantity pattern or None) of the sticky context, or (None, None) where there is none or it is too old."""
    if given is None:
        return None, None
    row = shapes.thing(given, "sticky")
    age = row.get("age_s") or 0
    if isinstance(age, bool) or not isinstance(age, int) or age < 0:
        raise CoreError("wrong_type", "the age of the sticky context is a whole number of seconds")
    if age > vocabulary.table["sticky_seconds"] or not row.get("structure"):
        return None, None
    quantity, part = row.get("quantity"), row.get("part")
    if part is not None:
        shapes.text(part, "sticky.part")
    place = phrase_corrections.place_of(row["structure"], part, quantity, vocabulary)
    if quantity is None:
        return place, None
    pattern = quantity.replace(".left.", ".*.").replace(".right.", ".*.")
    return place, pattern if pattern in vocabulary.table["quantities"] else quantity


def _new_sticky(reader: Reader, proposals: list, vocabulary) -> dict | None:
    """The place spoken of last, when it is one structure: what the next words without a place belong to."""
    place = reader.spoken_of
    if place is None:
        return None
    structures = structure_ids(place, vocabulary)
    if len(structures) != 1 or OPEN in structures[0][0]:
        return None
    structure, part = structures[0]
    reads = [one["quantity"] for one in proposals if one["do"] == "read" and OPEN not in one["quantity"]]
    quantity = reads[-1] if reads else None
    if quantity is not None and vocabulary.catalogue.quantity(quantity)["structure"] != structure:
        quantity = None
    words = vocabulary.catalogue.label(structure if part is None else structure + "." + part)
    return {"structure": structure, "part": part, "quantity": quantity, "words": words.upper()}


def _only_place(lexemes: list) -> bool:
    return all([lexeme.kind in SOFT + ("side", "family", "feature") for lexeme in lexemes])


def _left_over(text: str, tokens: list, lexemes: list, proposals: list) -> str:
    """The words that no proposal holds, in their order; grammar words between understood ones are understood."""
    used = [False] * len(tokens)
    for proposal in proposals:
        for at in proposal["tokens"]:
            used[at] = True
    runs, run = [], []
    for lexeme in lexemes:
        for at in range(lexeme.first, lexeme.after):
            if used[at]:
                runs.append(run)
                run = []
            else:
                run.append((at, lexeme.kind))
    runs.append(run)
    kept = [_trimmed(one) for one in runs if proposals]
    if not proposals:
        return text[tokens[0].start : tokens[-1].end] if tokens else ""
    return " ".join([text[tokens[one[0]].start : tokens[one[-1]].end] for one in kept if one])


def _trimmed(run: list) -> list:
    """The places of a run of left-over tokens without marks at its ends; [] where it holds grammar words only."""
    if all([kind in SOFT for _, kind in run]):
        return []
    while run[0][1] in ("comma", "stop", "dash"):
        run = run[1:]
    while run[-1][1] in ("comma", "stop", "dash"):
        run = run[:-1]
    return [at for at, _ in run]


def _said(text: str, tokens: list, used: list) -> str:
    """The words of a proposal as they were said, from the first to the last where nothing else stands between."""
    pieces, marked = [], {}
    for at in used:
        marked[at] = True
    start = None
    for at in range(len(tokens) + 1):
        if at < len(tokens) and marked.get(at):
            start = at if start is None else start
        elif start is not None:
            pieces.append(text[tokens[start].start : tokens[at - 1].end])
            start = None
    return " ".join(pieces)
