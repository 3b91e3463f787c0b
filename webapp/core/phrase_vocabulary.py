"""The closed vocabulary (tables/vocabulary.json), indexed once: which words stand for what, beside which structure.

A family is a structure without its side ("kidney"); a feature is a part or a measure ("pelvis", "width").
"""

from . import phrase_near, phrase_tokens
from .catalogue import Catalogue
from .tables import Tables

# Lists of plain words, each a kind of lexeme of its own.
KINDS = (
    "strikes", "corrections", "because", "no_note", "notes", "no_side", "as_expected", "present", "amounts",
    "between", "nearly", "exceptions", "blocks", "relations", "refusals", "negations", "hedges",
    "by", "to", "or", "and", "labels", "fillers",
)  # fmt: skip


class Entry:
    """What an alias stands for. `only`: families beside which it does, None for all; `ask`: a person must confirm."""

    def __init__(self, kind: str, value, **more: object) -> None:
        self.kind = kind
        self.value = value
        self.side = more.get("side")
        self.feature = more.get("feature")
        self.only: "list | None" = more.get("only")  # type: ignore[assignment]
        self.short = bool(more.get("short"))
        self.ask = bool(more.get("ask"))
        self.keep = bool(more.get("keep"))


class Vocabulary:
    """The aliases by their first word, and what the catalogue says about families, features and quantities."""

    def __init__(self, table: dict, catalogue: Catalogue) -> None:
        self.table = table
        self.catalogue = catalogue
        self.aliases = {}
        self.families = []
        self.structures = {}
        self.patterns = {}
        self.parts = {}
        self._index_catalogue()
        self._index_places()
        self._index_claims()
        for kind in KINDS:
            self._add(kind, kind, table[kind])
        for family in table["scoped_fillers"]:
            self._add("fillers", "fillers", table["scoped_fillers"][family], only=[family])
        self.suffixes = ["x"] + [name for name in table["foreign"] if " " not in name]
        for unit in table["units"]:
            self._add("unit", unit, table["units"][unit])
            self.suffixes += [name for name in table["units"][unit] if " " not in name]
        self._add("foreign", "foreign", table["foreign"])
        self._index_near()

    def _index_catalogue(self) -> None:
        """The families in the catalogue's order; by family its structures, parts and quantities ("kidney.*.length")."""
        for structure in self.catalogue.structures:
            family = structure["id"].split(".")[0] if structure["pair"] else structure["id"]
            if family not in self.families:
                self.families.append(family)
            self.structures.setdefault(family, []).append(structure["id"])
            known = self.parts.setdefault(family, [])
            known += [part["id"] for part in structure["parts"] if part["id"] not in known]
        for quantity in self.catalogue.quantities:
            pattern = quantity["id"].replace(".left.", ".*.")
            if pattern not in self.table["quantities"] or not quantity["structure"]:
                pattern = quantity["id"]
            if pattern in self.table["quantities"]:
                self.patterns.setdefault(self.family_of(quantity["structure"]), []).append(pattern)

    def family_of(self, structure: str) -> str:
        """The family of a structure's id: without its side."""
        return structure if structure in self.structures else structure.split(".")[0]

    def _index_places(self) -> None:
        table = self.table
        for side in table["sides"]:
            self._add("side", side, table["sides"][side])
        for family in table["families"]:
            row = table["families"][family]
            self._add("family", family, row["words"] + row.get("plural", []))
            self._add("family", family, row.get("short", []), short=True)
            self._add("family", family, row.get("ask", []), ask=True)
            for side in ("left", "right"):
                self._add("family", family, row.get(side, []), side=side, short=True)
            for feature in row.get("with", {}):
                self._add("family", family, row["with"][feature], feature=feature)
        for name in table["unnamed"]:
            self._add("unnamed", name, table["unnamed"][name]["words"], ask=True)
        for feature in table["features"]:
            for row in table["features"][feature]:
                self._add("feature", feature, row["words"], only=row.get("only"))
                self._add("feature", feature, row.get("short", []), only=row.get("only"), short=True)

    def _index_claims(self) -> None:
        table = self.table
        for state in table["states"]:
            self._add("state", state, table["states"][state])
        self._add("normal", "normal", table["normal"]["words"])
        self._add("normal", "normal", table["normal"]["short"], short=True)
        for kind, name in (("finding", "findings"), ("quality", "qualities")):
            for finding in table[name]:
                self._add(kind, finding, table[name][finding]["words"])
                self._add(kind, finding, table[name][finding].get("keep", []), keep=True)
        for reason in table["reasons"]:
            self._add("reason", reason, table["reasons"][reason])

    def _index_near(self) -> None:
        """Names that may be mended, by first letter; all words of the vocabulary, which never are."""
        self.names, self.known = {}, {}
        for first in self.aliases:
            for words, entry in self.aliases[first]:
                for word in words:
                    if entry.kind in ("family", "feature", "unnamed") and len(word) >= phrase_near.SHORTEST:
                        names = self.names.setdefault(word[0], [])
                        if word not in names:
                            names.append(word)
                    self.known[word] = True
        for kind in ("numerals", "tens", "hundred", "points", "point_zero", "sounds_like_a_number", "never_near"):
            for word in self.table[kind]:
                self.known[word] = True

    def _add(self, kind: str, value, names: list, **more: object) -> None:
        for name in names:
            words = name.split(" ")
            self.aliases.setdefault(words[0], []).append((words, Entry(kind, value, **more)))

    def meant(self, word: str) -> str:
        """The vocabulary's word that a word stands for: itself, or what a near miss of a name means."""
        if word in self.known:
            return word
        if word in self.table["near"]:
            return self.table["near"][word]
        return phrase_near.meant(word, self.names) or word

    def matches(self, words: list, at: int) -> list:
        """[(entry, number of words)] of all aliases that begin at a word, the longest first, whatever their scope."""
        found = [(name, entry) for name, entry in self.aliases.get(words[at], []) if words[at : at + len(name)] == name]
        ordered = []
        for length in range(max([len(name) for name, _ in found] or [0]), 0, -1):
            ordered += [(entry, length) for name, entry in found if len(name) == length]
        return ordered

    def is_a(self, kind: str, words: list, at: int) -> bool:
        """Whether a word begins an alias of this kind that needs no structure beside it."""
        if at >= len(words):
            return False
        return any([entry.kind == kind and entry.only is None for entry, _ in self.matches(words, at)])

    def sided(self, family: str) -> bool:
        """Whether the family's structures or quantities come left and right."""
        return len(self.structures[family]) > 1 or family == "node.medial_iliac"

    def lobes(self, family: str) -> dict:
        """What a side word names inside an undivided structure: its part by side, or {}."""
        return self.table["families"][family].get("lobes", {})

    def homes(self, feature: str) -> list:
        """The families that have a part or a measure of this name."""
        return [family for family in self.families if self._has(family, feature)]

    def _has(self, family: str, feature: str) -> bool:
        if feature in self.parts[family]:
            return True
        for pattern in self.patterns.get(family, []):
            row = self.table["quantities"][pattern]
            if feature in row["needs"] or feature in row["may"] or feature in row["loose"]:
                return True
        return False


def of(tables: Tables) -> Vocabulary:
    """The vocabulary of some tables, made at the first phrase and kept with them."""
    if "vocabulary" not in tables.kept:
        tables.kept["vocabulary"] = Vocabulary(tables.vocabulary, tables.catalogue)
    return tables.kept["vocabulary"]


def tokens_of(text: str, vocabulary: Vocabulary) -> list:
    return phrase_tokens.cut(text, vocabulary.suffixes)
