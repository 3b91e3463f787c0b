"""LEFT and RIGHT of one measure or one structure: what belongs together in a report."""

import re
from typing import Any

_ENDS = re.compile(r"(?<=\.) (?=[A-Z])")

LEFT, RIGHT = "left", "right"


def pair_of(name: str) -> tuple[str, str]:
    """The name without its side, and the side: "kidney.left.length" as ("kidney.*.length", "left"); a side that is
    only part of a word ("pancreas.right_lobe") is none: ("pancreas.right_lobe.thickness", "")."""
    pieces = name.split(".")
    for side in (LEFT, RIGHT):
        if side in pieces[1:]:
            return ".".join("*" if piece == side else piece for piece in pieces), side
    return name, ""


def without_side(label: str) -> str:
    """ "LEFT kidney, length" as "Kidney, length"."""
    for side in ("LEFT ", "RIGHT "):
        if label.startswith(side):
            rest = label.removeprefix(side)
            return rest[:1].upper() + rest[1:]
    return label


def both(label: str) -> str:
    """ "LEFT kidney" as "LEFT and RIGHT kidney"."""
    for side in ("LEFT ", "RIGHT "):
        if label.startswith(side):
            return "LEFT and RIGHT " + label.removeprefix(side)
    return label


def joined(items: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Items {"label", "text", ...} of which LEFT and RIGHT become one at the first's place: what both say is said
    once, then what each says alone. An item without the other side stays as it is."""
    made: list[dict[str, Any]] = []
    for item in items:
        twin = next((row for row in made if _twins(row, item)), None)
        if twin is None:
            made.append(item)
        else:
            made[made.index(twin)] = twin | {"label": both(item["label"]), "text": _together(twin, item)}
    return made


def _twins(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether they are the two sides of one structure, alike but for their words."""
    same = one | {"label": "", "text": ""} == other | {"label": "", "text": ""}
    return (
        same
        and {_side(one), _side(other)} == {"LEFT", "RIGHT"}
        and without_side(one["label"]) == without_side(other["label"])
        and bool(one["text"]) == bool(other["text"])
        and _shares_enough(one, other)
    )


def _side(item: dict[str, Any]) -> str:
    return str(item["label"]).split(" ")[0]


def _shares_enough(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Two lines are easier to read than one in which nearly everything is said of one side."""
    shared = _sentences(one["text"]) & _sentences(other["text"])
    return one["text"] == other["text"] or len(shared) >= 2


def _together(one: dict[str, Any], other: dict[str, Any]) -> str:
    if one["text"] == other["text"]:
        return str(one["text"])
    both_say = _sentences(one["text"]) & _sentences(other["text"])
    alone = [
        f"{_side(item)}: {' '.join(said)}"
        for item in (one, other)
        if (said := [sentence for sentence in _split(item["text"]) if sentence not in both_say])
    ]
    return " ".join([*(said for said in _split(one["text"]) if said in both_say), *alone])


def _sentences(text: str) -> set[str]:
    return set(_split(text))


def _split(text: str) -> list[str]:
    """Sentences as they stand: cut only after a full stop and a space before a capital."""
    return _ENDS.split(text)
