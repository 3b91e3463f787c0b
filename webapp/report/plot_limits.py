"""The limits of a plot: their words, their line patterns, over which exams each is drawn, and what lies outside."""

from typing import Any, NamedTuple

from webapp.report import plot_scale

Json = dict[str, Any]

# use -> word, stroke-dasharray, stroke-width. Told apart in greys and by the word at the line's end.
CLASSES = {
    "limit": ("limit", "", "1.6"),
    "on_indication": ("on indication", "14 3", "1.6"),
    "other": ("other limit", "5 2", "1.2"),
    "alert": ("alert", "10 4", "2.2"),
    "criterion": ("criterion", "8 3 2 3", "1.4"),
    "reference": ("reference", "2 3", "1.2"),
    "unverified": ("unverified", "1 5", "1.2"),
}
LABEL_ROOM = 12
_SIGNS = {"lower": "\u2265", "upper": "\u2264"}
_SIDES = {"lower": "not below", "upper": "not above"}


class Line(NamedTuple):
    """One bound over the exams that it holds for; places in the plot's frame."""

    y: float
    start: float
    end: float
    label_y: float
    words: str
    dash: str
    width: str
    unverified: bool
    to_the_end: bool


class Placed(NamedTuple):
    """The lines that fit, and in words the bounds that do not."""

    lines: list[Line]
    left_out: list[str]


def words(row: Json, unit: str) -> str:
    """A limit in full: "limit: not above 5.5 mm, dogs over 5 to 10 kg (quoted). Source"."""
    pieces = [f"{_SIDES[side]} {_amount(row[side], unit)}" for side in ("lower", "upper") if row[side] is not None]
    said = f"{class_word(row)}: {', '.join(pieces)}"
    if row.get("words"):
        said += f", {row['words']}"
    return said + (f" ({row['source']})" if row.get("source") else "")


def class_word(row: Json) -> str:
    """What kind of limit it is, and whether anybody here has read it."""
    word = _class(row)[0]
    known = {"memory": "unverified", "secondary": "quoted", "practice": "the practice's own"}.get(str(row.get("known")))
    return f"{word}, {known}" if known and known != word else word


def _class(row: Json) -> tuple[str, str, str]:
    """A limit that holds for the animal and judges nothing, as another set goes before it, is drawn as such."""
    use = row["use"] if row.get("judges", True) or row["use"] not in ("limit", "on_indication") else "other"
    return CLASSES.get(use, CLASSES["unverified"])


def placed(points: list[Json], scale: plot_scale.Scale) -> Placed:
    """Every bound over each run of exams that it holds for."""
    lines: list[Line] = []
    left_out: list[str] = []
    for key, held in _bounds(points).items():
        word, side, bound = key
        row = held[0][1]
        said = f"{word} {_SIGNS[side]} {bound}"
        if not scale.fits(bound):
            left_out.append(said)
            continue
        _, dash, width = _class(row)
        unverified = row["use"] == "unverified" or row.get("known") == "memory"
        for first, last in _runs([place for place, _ in held]):
            start = 0.0 if first == 0 else (scale.across[first - 1] + scale.across[first]) / 2
            to_the_end = last == len(points) - 1
            end = float(scale.width) if to_the_end else (scale.across[last] + scale.across[last + 1]) / 2
            y = scale.up(bound)
            lines.append(Line(y, start, end, y, said, dash, width, unverified, to_the_end))
    return Placed(_apart(lines, scale.height), left_out)


def _bounds(points: list[Json]) -> dict[tuple[str, str, str], list[tuple[int, Json]]]:
    """{(word, side, bound): [(place of the exam, limit)]}: two rows of one class and bound are one line."""
    found: dict[tuple[str, str, str], list[tuple[int, Json]]] = {}
    for place, point in enumerate(points):
        for row in point["limits"]:
            for side in ("lower", "upper"):
                if row[side] is None:
                    continue
                held = found.setdefault((class_word(row), side, str(row[side])), [])
                if not held or held[-1][0] != place:
                    held.append((place, row))
    return found


def _runs(places: list[int]) -> list[tuple[int, int]]:
    runs: list[tuple[int, int]] = []
    for place in places:
        if runs and runs[-1][1] == place - 1:
            runs[-1] = (runs[-1][0], place)
        else:
            runs.append((place, place))
    return runs


def _apart(lines: list[Line], height: int) -> list[Line]:
    """Words at the right edge pushed apart, in the order of their lines, so that none lies on another."""
    made = sorted(lines, key=lambda line: (line.y, line.words))
    lowest = -float(LABEL_ROOM)
    for place, line in enumerate(made):
        if line.to_the_end:
            lowest = max(line.y, lowest + LABEL_ROOM)
            made[place] = line._replace(label_y=lowest)
    # Pushed below the frame: back up from the bottom.
    highest = float(height + LABEL_ROOM)
    for place in reversed(range(len(made))):
        if made[place].to_the_end:
            highest = min(made[place].label_y, highest - LABEL_ROOM)
            made[place] = made[place]._replace(label_y=highest)
    return made


def _amount(number: str, unit: str) -> str:
    return number if unit in ("1", "{score}") else f"{number} {unit}"
