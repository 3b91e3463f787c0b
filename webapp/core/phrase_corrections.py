"""What takes back: "strike that", "no, six point four", "correction", "normal except", normal beside a finding.

Within one phrase the later word counts and the earlier one is kept in the words of the proposal; what was recorded
before the phrase is struck by a proposal of its own.
"""

from . import phrase_places as places
from .phrase_places import Place


def strike(reader, predicate) -> None:
    """ "strike that": takes back the last thing of this phrase, else proposes to strike the last reading."""
    if reader.out:
        reader.carried += reader.out.pop()["tokens"] + predicate.tokens
        return
    reader.out.append({"do": "strike", "asks": {}, "tokens": list(predicate.tokens)})


def corrected(reader, clause) -> bool:
    """Deals with a clause behind "correction" or "no, ..."; False where it reads like any other clause."""
    last = reader.out[-1] if reader.out and reader.out[-1]["do"] not in ("strike", "note") else None
    said = clause.predicates
    if not said:
        return _without_words(reader, clause, last)
    alone = len(said) == 1 and said[0].kind == "value" and not clause.before and not clause.behind
    if alone and last is not None and last.get("value") is not None:
        _replace_value(last, said[0], clause)
        return True
    if alone and last is None and reader.sticky is not None and reader.context is not None:
        reader.add({"do": "strike", "tokens": list(clause.dropped)}, clause)
        return False
    if last is not None:
        reader.carried += reader.out.pop()["tokens"]
        if alone:
            return True
        if clause.before and clause.before[0].family is None and last.get("place") is not None:
            reader.context = last["place"]
    return False


def _without_words(reader, clause, last: dict | None) -> bool:
    """ "left kidney six centimetres, correction, right": the same value for another place, to be confirmed."""
    if last is None:
        return True
    last["tokens"] = last["tokens"] + clause.dropped
    if last["do"] != "read" or not clause.before:
        last["asks"]["value"] = True
        return True
    place = clause.before[-1]
    made = places.completed(place, last["place"], reader.vocabulary, True)
    features = places.features_with_lobe(made, reader.vocabulary)
    found = places.quantity(made.family, features, reader.vocabulary) if made.family is not None else None
    if found is None:
        last["asks"]["structure"] = True
        return True
    last["pattern"], last["offers"], last["place"] = found["id"], found["offers"], made
    last["asks"]["side" if place.sides and "*" in found["id"] else "structure"] = True
    last["tokens"] = last["tokens"] + place.tokens
    reader.context, reader.sticky, reader.offers = made, found["id"], found["offers"]
    return True


def _replace_value(last: dict, predicate, clause) -> None:
    """One number for one number; among several it is not known which was meant."""
    old, new = last["value"], predicate.item
    last["tokens"] = last["tokens"] + predicate.tokens + clause.dropped
    if len(old.texts) != 1 or len(new.texts) != 1:
        new.unsure = True
    if new.bare and not old.bare:
        new.units = [old.units[-1]] * len(new.texts)
        new.bare = False
    new.spoken = new.spoken or old.spoken
    last["value"] = new
    if predicate.strange or clause.unknown:
        last["asks"]["value"] = True


def take_back_normals(reader) -> None:
    """ "normal except ...", "normal but ...": no normal of this sentence stands."""
    kept = []
    for place, draft in enumerate(reader.out):
        if place < reader.sentence or not _calls_normal(draft):
            kept.append(draft)
    reader.out = kept


def without_contradicted(drafts: list, doubted: list) -> list:
    """The drafts without a normal of a structure that has a finding, or may have one."""
    troubled = list(doubted)
    for draft in drafts:
        if draft["do"] == "finding" and draft["finding"] != "none":
            troubled.append(draft["structure"])
    return [draft for draft in drafts if not (_calls_normal(draft) and _touched(draft["structure"], troubled))]


def _calls_normal(draft: dict) -> bool:
    return draft["do"] == "normal" or (draft["do"] == "seen" and draft["normal"])


def _touched(structure: str, troubled: list) -> bool:
    for one in troubled:
        if one == structure or one == places.OPEN:
            return True
        if places.OPEN in one + structure and one.split(".")[0] == structure.split(".")[0]:
            return True
    return False


def place_of(structure: str, part: str | None, quantity: str | None, vocabulary) -> Place:
    """The place of a sticky context; CoreError where its ids are not in the catalogue."""
    catalogue = vocabulary.catalogue
    made = Place()
    name = structure
    if quantity is not None:
        row = catalogue.quantity(quantity)
        name = row["structure"] or structure
        part = row["part"]
    row = catalogue.structure(name)
    made.family = vocabulary.family_of(row["id"])
    if made.family != row["id"]:
        made.sides = [row["id"].split(".")[1]]
    elif vocabulary.sided(made.family) and part:
        made.sides, part = [part], None
    if part is not None:
        catalogue.place(name + "." + part)
        made.features = [part]
    return made
