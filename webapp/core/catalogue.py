"""The catalogue: structures, their parts and quantities; which of them this animal has."""

from .errors import CoreError


class Catalogue:
    """An index over the catalogue table (tables/catalogue.json)."""

    def __init__(self, table: dict) -> None:
        self.version = table["version"]
        self.structures = table["structures"]
        self.quantities = table["quantities"]
        self.weight_plausible = table["weight_plausible_kg"]
        self.reading_context = table["reading_context"]
        self.seen_states = [state["id"] for state in table["seen_states"]]
        self._structure = {}
        self._part = {}
        self._quantity = {}
        for structure in self.structures:
            self._structure[structure["id"]] = structure
            for part in structure["parts"]:
                self._part[structure["id"] + "." + part["id"]] = (structure, part)
        self.quantity_order = {}
        self._of_structure: dict = {}
        for place, quantity in enumerate(self.quantities):
            self._quantity[quantity["id"]] = quantity
            self._of_structure.setdefault(quantity["structure"], []).append(quantity)
            self.quantity_order[quantity["id"]] = place

    def quantity(self, name: object) -> dict:
        """The quantity row; CoreError("unknown_quantity") when the id is not in the catalogue."""
        if not isinstance(name, str) or name not in self._quantity:
            raise CoreError("unknown_quantity", 'there is no quantity "' + str(name) + '" in the catalogue')
        return self._quantity[name]

    def structure(self, name: object) -> dict:
        if not isinstance(name, str) or name not in self._structure:
            raise CoreError("unknown_structure", 'there is no structure "' + str(name) + '" in the catalogue')
        return self._structure[name]

    def has_quantity(self, name: str) -> bool:
        return name in self._quantity

    def has_structure(self, name: str) -> bool:
        return name in self._structure

    def is_place(self, about: object) -> bool:
        """Whether this is the id of a structure or of a part."""
        return isinstance(about, str) and (about in self._structure or about in self._part)

    def structure_of(self, about: object) -> str | None:
        """The structure that a structure's, part's or quantity's id belongs to, or None."""
        if self.is_place(about):
            return self.place(about)[0]
        if isinstance(about, str) and about in self._quantity:
            return self._quantity[about]["structure"]
        return None

    def place(self, about: object) -> tuple:
        """(structure id, part id or None) of a structure's or a part's id; CoreError when it is neither."""
        if not isinstance(about, str):
            raise CoreError("unknown_structure", "a structure is named by its id")
        if about in self._structure:
            return about, None
        if about in self._part:
            structure, part = self._part[about]
            return structure["id"], part["id"]
        raise CoreError("unknown_structure", 'there is no structure or part "' + str(about) + '" in the catalogue')

    def label(self, about: str) -> str:
        """The words for a quantity, a structure or a part ("RIGHT adrenal, cranial pole")."""
        if about in self._quantity:
            return self._quantity[about]["label"]
        if about in self._structure:
            return self._structure[about]["label"]
        if about in self._part:
            structure, part = self._part[about]
            return structure["label"] + ", " + part["label"]
        return str(about)

    def quantities_of(self, structure: str) -> list:
        return self._of_structure.get(structure) or []


def presence(structure: dict, patient: dict) -> str:
    """ "present", "removed" (by the signalment) or "absent" (the other sex); unknown sex counts as absent."""
    needs = structure["present_when"]
    if needs is None:
        return "present"
    sex = patient.get("sex")
    if sex is None or needs.split(" ")[0] != sex:
        return "absent"
    gonad = structure["id"].split(".")[0] in ("ovary", "testis")
    if gonad and patient.get("neutered"):
        return "removed"
    if structure["id"] == "uterus" and patient.get("neutered"):
        return "removed"
    return "present"


def is_core(quantity: dict, species: object) -> bool:
    """Whether the quantity belongs to the core readings of this species."""
    core = quantity["core"]
    if core is True or core is False:
        return core
    return species in core
