"""Drafts -> proposals: ids with their side, values in the catalogue's unit, and the questions in their order."""

from . import phrase_places as places
from . import phrase_units as units
from .phrase_vocabulary import Vocabulary

ORDER = ("structure", "side", "unit", "value")


class Finisher:
    """Makes proposals; `machine`: the unit of shorthand without one, `phrase_unit`: the one said once, or None."""

    def __init__(self, vocabulary: Vocabulary, species: str, machine: str, phrase_unit: str | None) -> None:
        self.vocabulary = vocabulary
        self.species = species
        self.machine = machine
        self.phrase_unit = phrase_unit

    def proposal(self, draft: dict) -> dict | None:
        """The proposal, or None where the numbers do not measure such a thing."""
        if draft["do"] == "read":
            return self._read(draft)
        made = {"do": draft["do"]}
        if draft["do"] == "finding":
            return self._finding(draft, made)
        if draft["do"] == "seen":
            why = draft["why"]
            made.update({"structure": draft["structure"], "part": draft["part"], "seen": draft["seen"]})
            made["why"] = (why[0] if len(why) == 1 else why) if why else None
            made["normal"] = draft["normal"]
        elif draft["do"] == "normal":
            made["structure"] = draft["structure"]
        if draft.get("offers"):
            made["offers"] = draft["offers"]
        return _asked(made, draft["asks"])

    def _read(self, draft: dict) -> dict | None:
        place, asks = draft["place"], draft["asks"]
        side = places.side_of(place, self.vocabulary) if place.family is not None else None
        if "*" in draft["pattern"] and side == places.OPEN:
            asks["side"] = True
        if asks.get("side") and "*" in draft["pattern"]:
            side = places.OPEN
        made = {"do": "read", "quantity": draft["pattern"].replace("*", side or places.OPEN)}
        made["offers"] = [one.replace("*", side or places.OPEN) for one in draft["offers"]]
        row = self._row(draft)
        if not self._valued(draft, row, made, row["unit"]):
            return None
        window = units.usual(row, self.species)
        if not all([units.believed(text, row, self.species) for text in made["values"]]):
            asks["value"] = True
            made["tenfold"] = _tenfold(made["values"], window or row["plausible"])
        return _asked(made, asks)

    def _row(self, draft: dict) -> dict:
        """The catalogue's row whose unit and windows hold; of several that are asked about, the first."""
        named = draft["pattern"] if places.OPEN not in draft["pattern"] else draft["offers"][0]
        return self.vocabulary.catalogue.quantity(named.replace("*", "left").replace(places.OPEN, "left"))

    def _finding(self, draft: dict, made: dict) -> dict | None:
        made.update({"structure": draft["structure"], "part": draft["part"], "finding": draft["finding"]})
        made.update({"text": draft["text"], "dimensions": [], "unit": "mm"})
        if draft["value"] is not None:
            if not self._valued(draft, None, made, "mm"):
                return None
            made["dimensions"] = made.pop("values")
        return _asked(made, draft["asks"])

    def _valued(self, draft: dict, row: dict | None, made: dict, target: str) -> bool:
        """Adds values, unit and how they were said; False where the said unit measures something else."""
        value, asks = draft["value"], draft["asks"]
        made.update({"values": [], "unit": target, "typed": [], "typed_unit": None})
        plain = value.plain() if row is not None else (len(value.texts) == 1 or value.axes()) and not value.unsure
        if value.nearly or not plain or (value.trailed and value.bare):
            asks["value"] = True
        said = units.said_units(value, self.phrase_unit if target == "mm" else None)
        texts = [text for text in value.texts if text is not None]
        if len(texts) < len(value.texts):
            texts, said = [], []
        said = self._units(draft, row, texts, said, target)
        values = units.converted(texts, said, target)
        if values is None:
            return False
        made["typed"] = texts
        made["typed_unit"] = said[0] if said and said == said[:1] * len(said) else None
        made["typed_units"] = said
        made["values"] = values if plain else []
        made["heard"] = values if not plain else []
        return True

    def _units(self, draft: dict, row: dict | None, texts: list, said: list, target: str) -> list:
        """The unit of each number, decided where none was said; sets the question about it."""
        if None not in said or target in ("1", "{score}") or (row is not None and not draft["value"].plain()):
            return [unit or target for unit in said]
        if draft["short"]:
            return [unit or (self.machine if target == "mm" else target) for unit in said]
        if target != "mm" or row is None:
            draft["asks"]["unit"] = True
            return [unit or target for unit in said]
        unit, ask = units.decided(texts, units.usual(row, self.species))
        if ask:
            draft["asks"]["unit"] = True
        return [one or unit for one in said]


def _tenfold(values: list, window: dict | None) -> list:
    """The values with the point one place on or back, where all are then inside: an offer, never a repair."""
    offers = []
    for places_on in (1, -1):
        moved = [units.shifted(text, 1) if places_on > 0 else _back(text) for text in values]
        if all([units.inside(text, window) for text in moved]):
            offers.append(moved)
    return offers


def _back(text: str) -> str:
    whole, _, part = text.partition(".")
    if len(whole) < 2:
        whole = "0" + whole
    return units.shifted(whole[:-1] + "." + whole[-1:] + part, 0)


def _asked(made: dict, asks: dict) -> dict:
    made["asks"] = [name for name in ORDER if asks.get(name)]
    made["ask"] = made["asks"][0] if made["asks"] else None
    return made
