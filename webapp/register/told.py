"""What a change of the limits did, in words: the difference between two overlays."""

from typing import Any

from webapp import rules
from webapp.core import grades
from webapp.core.catalogue import Catalogue
from webapp.register import listing
from webapp.store.overlays import Change

Json = dict[str, Any]


def between(before: Json, after: Json) -> list[str]:
    """One sentence for each difference, by the names that the register has after or had before."""
    names = _Names(before, after)
    told = []
    for field, name in (("sources_off", names.source), ("rows_off", names.row)):
        told += [f"switched off: {name(one)}" for one in after[field] if one not in before[field]]
        told += [f"switched on again: {name(one)}" for one in before[field] if one not in after[field]]
    for path in sorted(before["thresholds"].keys() | after["thresholds"].keys()):
        old, new = (which["thresholds"].get(path) for which in (before, after))
        if old != new:
            ours = names.published[path]
            told.append(f"threshold {path.replace('_', ' ').replace('.', ', ')}: {old or ours} → {new or ours}")
    told += _grades(before, after)
    ids = {row["id"] for row in before["rows"]}
    told += [f"own row added: {names.row(row['id'])}" for row in after["rows"] if row["id"] not in ids]
    left = {row["id"] for row in after["rows"]}
    told += [f"own row taken back: {names.row(row['id'])}" for row in before["rows"] if row["id"] not in left]
    return told or ["nothing"]


def _grades(before: Json, after: Json) -> list[str]:
    """What changed in the grades, and in the practice's own entries of the list of whom to tell."""
    told = []
    published = rules.tables()["thresholds"]["grades"]
    old, new = ((which.get("grades") or {}) for which in (before, after))
    for kind, name in grades.KINDS:
        was, is_now = ((one.get(kind) or {"grade": published[kind]}) for one in (old, new))
        if was != is_now:
            why = f", because: {is_now['why']}" if is_now.get("why") else ""
            words = f"{grades.WORDS[was['grade']]} → {grades.WORDS[is_now['grade']]}"
            told.append(f"grade of “{name}”: {words}{why}")
    catalogue = Catalogue(rules.worded()["catalogue"])
    old_list, new_list = ((which.get("tell") or []) for which in (before, after))
    for entry in new_list:
        if entry not in old_list:
            why = f", because: {entry['why']}" if entry.get("why") else ""
            words = grades.entry_words(entry, catalogue)
            told.append(f"put before the list of whom to tell: {words}, {grades.WORDS[entry['grade']]}{why}")
    told += [
        f"taken back from the list of whom to tell: {grades.entry_words(entry, catalogue)}"
        for entry in old_list
        if entry not in new_list
    ]
    return told


class _Names:
    """Words for the ids in two overlays."""

    def __init__(self, before: Json, after: Json):
        made = [listing.register(before if before["change"] else None), listing.register(after)]
        self.rows = {row["id"]: row for one in made for row in one["rows"]}
        self.sets = {row["source"]: row["short"] for one in made for row in one["sets"]}
        published = listing.register(None)["thresholds"]
        self.published = {value["path"]: value["value"] for row in published for value in row["values"]}

    def source(self, name: str) -> str:
        """A set by its short citation."""
        return f"the set {self.sets.get(name, name)}"

    def row(self, name: str) -> str:
        """A row by quantity, animals, bounds and source."""
        row = self.rows.get(name)
        if row is None:
            return f"the row {name}"
        return f"{row['quantity']}, {row['animals']}: {row['bounds'] or row['values'] or 'no bound'} ({row['short']})"


def listed(changes: list[Change], nothing: Json, names: dict[str, str]) -> list[Json]:
    """The changes for the page, newest first: number, who, when, what. `names` = people by id."""
    before = [*(change.overlay for change in changes[1:]), nothing][: len(changes)]
    return [
        {
            "id": change.id,
            "number": change.overlay["change"],
            "who": names.get(change.author, change.author),
            "at": change.at,
            "what": between(earlier, change.overlay),
        }
        for change, earlier in zip(changes, before, strict=True)
    ]
