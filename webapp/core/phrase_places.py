"""Where something was said to be: family, side and features of a place, and which quantity they make together.

A side is only ever what was named, or what the sticky context holds; else the id carries "?" and the side is asked.
"""

from .phrase_vocabulary import Vocabulary

OPEN = "?"


class Place:
    """What was said of a place so far; `family` None where none was named yet."""

    def __init__(self) -> None:
        self.family: "str | None" = None
        self.unnamed: "str | None" = None
        self.sides: list = []
        self.features: list = []
        self.tokens: list = []
        self.ask = False
        self.short = False
        self.doubtful = False
        self.joined = ""

    def is_empty(self) -> bool:
        return self.family is None and self.unnamed is None and not self.sides and not self.features

    def only_side(self) -> bool:
        return bool(self.sides) and self.family is None and self.unnamed is None and not self.features

    def copy(self) -> "Place":
        other = Place()
        other.family, other.unnamed, other.sides = self.family, self.unnamed, list(self.sides)
        other.features, other.tokens, other.ask = list(self.features), list(self.tokens), self.ask
        other.short, other.doubtful, other.joined = self.short, self.doubtful, self.joined
        return other


def completed(place: Place, context: Place | None, vocabulary: Vocabulary, for_reading: bool) -> Place:
    """The place with what it leaves unsaid taken from the context, or from the only structure that has the part."""
    made = place.copy()
    if made.family is not None or made.unnamed is not None:
        return made
    if context is not None and context.family is not None and _fits(made, context.family, vocabulary, for_reading):
        made.family = context.family
        made.ask = made.ask or context.ask
        made.short = made.short or (context.short and not made.sides)
        if not made.sides:
            made.sides = list(context.sides)
            made.doubtful = made.doubtful or context.doubtful
        if not made.features:
            made.features = list(context.features)
        return made
    homes = _homes(made, vocabulary, for_reading)
    if len(homes) == 1:
        made.family = homes[0]
        made.ask = made.ask or context is not None or _is_layer(made, vocabulary)
    return made


def _fits(place: Place, family: str, vocabulary: Vocabulary, for_reading: bool) -> bool:
    """Whether the features belong to this family; for a reading, whether they make one of its quantities."""
    if place.sides and not (vocabulary.sided(family) or vocabulary.lobes(family)):
        return False
    if not all([family in vocabulary.homes(feature) for feature in place.features]):
        return False
    return not for_reading or not place.features or quantity(family, place.features, vocabulary) is not None


def _homes(place: Place, vocabulary: Vocabulary, for_reading: bool) -> list:
    """The families that have all these features, where at least one of them is more than a plain measure."""
    if all([feature in vocabulary.table["measures"] for feature in place.features]):
        return []
    homes = []
    for family in vocabulary.families:
        if not all([family in vocabulary.homes(feature) for feature in place.features]):
            continue
        if for_reading and quantity(family, place.features, vocabulary) is None:
            continue
        homes.append(family)
    return homes


def _is_layer(place: Place, vocabulary: Vocabulary) -> bool:
    """A layer or a wall is found in many organs, even where one alone has a measure for it."""
    plain = vocabulary.table["layers"] + vocabulary.table["measures"]
    return all([feature in plain for feature in place.features])


def features_with_lobe(place: Place, vocabulary: Vocabulary) -> list:
    """The features, with the part that a side word names in a structure without sides (the pancreas' lobes)."""
    if place.family is None or vocabulary.sided(place.family):
        return place.features
    lobes = vocabulary.lobes(place.family)
    if len(place.sides) != 1 or place.sides[0] not in lobes:
        return place.features
    return [feature for feature in place.features if feature != "lobe"] + [lobes[place.sides[0]]]


def quantity(family: str, features: list, vocabulary: Vocabulary) -> dict | None:
    """{"id" with * for the side, "ask", "offers"} of what was measured; None where there is no such measure.

    "ask" is true where the words fit a measure only loosely, or several ("left adrenal", "pancreas").
    """
    exact, loose, short = [], [], []
    for pattern in vocabulary.patterns.get(family, []):
        row = vocabulary.table["quantities"][pattern]
        missing = [need for need in row["needs"] if need not in features]
        beyond = [one for one in features if one not in row["needs"] + row["may"]]
        if not missing and not beyond:
            exact.append(pattern)
        elif not missing and all([one in row["loose"] for one in beyond]):
            loose.append(pattern)
        elif not beyond:
            short.append((len(missing), pattern))
    if exact:
        return {"id": _most_needed(exact, vocabulary), "ask": False, "offers": []}
    if loose:
        return {"id": _most_needed(loose, vocabulary), "ask": True, "offers": loose}
    if short:
        least = min([pair[0] for pair in short])
        offers = [pair[1] for pair in short if pair[0] == least]
        return {"id": common(offers), "ask": True, "offers": offers}
    return None


def _most_needed(patterns: list, vocabulary: Vocabulary) -> str:
    best = patterns[0]
    for pattern in patterns:
        if len(vocabulary.table["quantities"][pattern]["needs"]) > len(vocabulary.table["quantities"][best]["needs"]):
            best = pattern
    return best


def common(patterns: list) -> str:
    """The id of several quantities, "?" where they differ: "pancreas.?.thickness", "adrenal.*.?"."""
    pieces = [pattern.split(".") for pattern in patterns]
    if any([len(one) != len(pieces[0]) for one in pieces]):
        first, last = pieces[0][0], pieces[0][-1]
        ends = all([one[0] == first for one in pieces]), all([one[-1] == last for one in pieces])
        return ".".join([first if ends[0] else OPEN, OPEN, last if ends[1] else OPEN])
    shared = []
    for place, piece in enumerate(pieces[0]):
        same = all([len(one) > place and one[place] == piece for one in pieces])
        shared.append(piece if same else OPEN)
    return ".".join(shared)


def side_of(place: Place, vocabulary: Vocabulary) -> str | None:
    """ "left", "right", "?" where the side must be asked, None where the family has no sides."""
    if place.family is None or not vocabulary.sided(place.family):
        return None
    if len(place.sides) == 1 and place.sides[0] != "both" and not place.doubtful:
        return place.sides[0]
    return OPEN


def structure_ids(place: Place, vocabulary: Vocabulary) -> list:
    """[(structure id, part or None)] of a place; "kidney.?" where the side is open, both where both were named."""
    family = place.family
    if family is None:
        return []
    parts = [one for one in features_with_lobe(place, vocabulary) if one in vocabulary.parts[family]]
    part = parts[-1] if parts else None
    if not vocabulary.sided(family):
        return [(family, part)]
    sides = [side_of(place, vocabulary) or OPEN]
    if not place.doubtful and ("both" in place.sides or len(place.sides) > 1):
        sides = ["left", "right"]
    if family in vocabulary.structures[family]:
        return [(family, None if side == OPEN else side) for side in sides]
    found = [(family + "." + side, part) for side in sides]
    return found if all([_has_part(structure, part, vocabulary) for structure, part in found]) else []


def _has_part(structure: str, part: str | None, vocabulary: Vocabulary) -> bool:
    """Whether this side has the part at all (only the left adrenal has a waist); nothing is widened to the whole."""
    if part is None or structure[-1] == OPEN:
        return True
    return any([one["id"] == part for one in vocabulary.catalogue.structure(structure)["parts"]])
