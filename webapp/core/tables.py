"""The tables that every judgement goes by, indexed once."""

from . import spelling
from .catalogue import Catalogue
from .limits import Limits


class Tables:
    """The indexed tables. A unit is a structure, or a pair of them that is judged together (both kidneys ...)."""

    def __init__(self, catalogue: Catalogue, limits: Limits, parsed: dict) -> None:
        self.catalogue = catalogue
        self.limits = limits
        self.thresholds = parsed["thresholds"]
        self.descriptors = parsed["descriptors"]
        self.windows = parsed["windows"]
        self.context = parsed["context"]
        self.parsed = parsed
        self.vocabulary = parsed["vocabulary"]
        # Indexes that are made when they are first asked for (phrase_vocabulary.py).
        self.kept: dict = {}
        self.units: list[str] = []
        self.unit_of: dict[str, str] = {}
        self.structures: dict[str, list] = {}
        self.quantities: dict[str, list] = {}
        # None for quantities of numbered lesions: they belong to the structure that the lesion names.
        self.unit_of_quantity: dict[str, str | None] = {}
        for structure in catalogue.structures:
            name = structure["id"].split(".")[0] if structure["pair"] else structure["id"]
            if name not in self.structures:
                self.units.append(name)
                self.structures[name] = []
                self.quantities[name] = []
            self.structures[name].append(structure)
            self.unit_of[structure["id"]] = name
        for quantity in catalogue.quantities:
            unit = self.unit_of.get(quantity["structure"])
            if unit is None and quantity["id"][:8] == "adrenal.":
                unit = "adrenal"
            self.unit_of_quantity[quantity["id"]] = unit
            if unit is not None:
                self.quantities[unit].append(quantity)

    def say(self, text: str) -> str:
        """Words of this project written in its code, in the spelling in use."""
        return spelling.say(text, self.parsed)
