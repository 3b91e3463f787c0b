"""The words of the report for one structure: the same on the phone, as the entry is made, and in the report.

Nothing is called normal that nobody recorded as such; a value alone never makes a "normal"; what contradicts a
"normal" is said beside it. Readings stand in the report's table; `readings_words` gives them as one line.
"""

from . import decimals, ordering, windows, wording
from .catalogue import Catalogue

SEEN = {
    "whole": "seen",
    "partly": "partly seen",
    "not_seen": "not seen",
    "not_examined": "not examined",
    "not_visible_expected": "not visible, as expected",
    "removed": "removed",
}
GAPS = ("partly", "not_seen", "not_examined")


class Told:
    """The records of one structure that are told in words."""

    def __init__(self, name: str, exam: dict, flags: list, catalogue: Catalogue):
        self.name = name
        self.catalogue = catalogue
        self.states = [row for row in exam["states"] if row["structure"] == name]
        self.findings = [row for row in exam["findings"] if row["structure"] == name and not row.get("struck")]
        self.notes = [
            row
            for row in exam.get("notes") or []
            if not row.get("struck") and catalogue.structure_of(row.get("about")) == name
        ]
        fields = exam.get("fields") or {}
        own = [field for field in fields if field.rpartition(".")[0] == name]
        self.fields = [[field, fields[field]] for field in ordering.by_keys(own, own)]
        self.measured = any(
            [
                not row.get("struck") and catalogue.quantity(row["quantity"])["structure"] == name
                for row in exam["readings"]
            ]
        )
        self.beyond = [
            flag
            for flag in flags
            if flag["kind"] in ("above_limit", "below_limit", "alert") and flag.get("structure") == name
        ]

    def own_state(self) -> dict | None:
        for row in self.states:
            if not row["part"]:
                return row
        return None

    def gaps(self) -> list:
        return [row for row in self.states if row["part"] and row["seen"] in GAPS]

    def part_label(self, part: str) -> str:
        return self.catalogue.label(self.name + "." + part).partition(", ")[2] or part.replace("_", " ")


def of_structure(name: str, exam: dict, flags: list, catalogue: Catalogue, windows_table: dict) -> str:
    """Everything recorded of one structure in sentences; "" where nothing was recorded."""
    told = Told(name, exam, flags, catalogue)
    pieces = [state_words(told)] + gap_words(told) + findings_words(told)
    return " ".join([sentence(piece) for piece in pieces if piece] + [remarks(told, windows_table)]).strip()


def remarks(told: Told, windows_table: dict) -> str:
    """Descriptors, notes and windows tried: "Capsule: smooth. Outline kept." """
    pieces = []
    done: list = []
    for field, value in told.fields:
        word = field[len(told.name) + 1 :]
        if word == "windows_tried":
            done = value or []
        elif value not in (None, "", []):
            pieces.append(word.replace("_", " ") + ": " + several(value))
    pieces += notes_words(told)
    if done and not told.gaps():
        pieces.append(windows.tried_words(windows_table, told.name, done))
    return " ".join([sentence(piece) for piece in pieces if piece])


def state_words(told: Told) -> str:
    """The structure's own state; without one, what its parts and records say."""
    state = told.own_state()
    if state is None:
        return _without_state(told)
    words = SEEN[state["seen"]]
    if state.get("fork"):
        return words + "; entries disagree, see above"
    if state["seen"] != "whole":
        return words
    against = conflict(told)
    if against:
        return "seen; " + against
    if state.get("normal"):
        return "seen, recorded as normal"
    return "seen" if told.findings else "seen; not recorded as normal"


def _without_state(told: Told) -> str:
    seen = [row for row in told.states if row["seen"] == "whole"]
    normal = [row for row in seen if row.get("normal") and not row.get("fork")]
    plain = [row for row in seen if row not in normal]
    said = []
    if normal:
        said.append(several([told.part_label(row["part"]) for row in normal]) + " seen, recorded as normal")
    if plain:
        said.append(several([told.part_label(row["part"]) for row in plain]) + " seen")
    if said:
        return "; ".join(said)
    if told.measured:
        return "measured; its appearance was not recorded"
    return "" if told.states or told.findings else "no entry by anybody"


def conflict(told: Told) -> str:
    """Why a "normal" is not repeated: something else on the record speaks against it."""
    state = told.own_state()
    if state is None or not state.get("normal"):
        return ""
    if state["seen"] != "whole" or told.gaps():
        return "the record also holds an entry on parts not fully seen, so no statement on the whole"
    if any([row["finding"] != "none" for row in told.findings]):
        return "a finding is recorded beside it"
    if told.beyond:
        return "recorded as normal in appearance; a measurement is beyond a published limit, see the table"
    return ""


def gap_words(told: Told) -> list:
    """Parts not fully seen, those of one kind together: "cranial and caudal pole not seen"."""
    made = []
    for kind in GAPS:
        parts = [told.part_label(row["part"]) for row in told.gaps() if row["seen"] == kind]
        if parts:
            made.append(several(parts) + " " + SEEN[kind])
    return made


def findings_words(told: Told) -> list:
    """Findings in words; parts of which nothing but the same is said share one: "enlarged (left and right)"."""
    made: list = []
    for row in told.findings:
        told_before = [one for one in made if _alike(one[0], row)]
        if told_before:
            told_before[0][1].append(row["part"])
        else:
            made.append([row, [row["part"]] if row.get("part") else []])
    return [finding_words(row, told, parts) for row, parts in made]


def _alike(one: dict, other: dict) -> bool:
    """Two findings of different parts that say nothing but what was found."""
    bare = ("number", "dimensions", "site", "shape", "outline", "echo", "vessel", "image", "text")
    return bool(
        one["finding"] == other["finding"]
        and one.get("part")
        and other.get("part")
        and not any([one.get(name) or other.get(name) for name in bare])
    )


def finding_words(row: dict, told: Told, parts: list | None = None) -> str:
    """One finding: what, where, how large, shape and outline, vessel and its state, and the words typed with it."""
    plain = row["finding"].replace("_", " ") if row["finding"] != "none" else "no finding"
    kind = plain
    if row.get("number"):
        kind += " " + str(row["number"])
    where = several([told.part_label(part) for part in parts or ([row["part"]] if row.get("part") else [])])
    if plain == "other" and where and row.get("text"):
        kind = where  # "other" says nothing that the words behind it do not
    elif where:
        kind += " (" + where + ")"
    pieces = [kind]
    if row.get("dimensions"):
        size = " \u00d7 ".join([str(axis) for axis in row["dimensions"]])
        pieces.append(wording.amount(size, row.get("unit") or "mm"))
    for name in ("site", "shape", "outline", "echo"):
        if row.get(name):
            pieces.append(several(row[name]))
    again = plain + ", "
    if str(row.get("shape") or "").startswith(again):  # "mass 1, 38 mm, poles not separable", not "mass" twice
        pieces = [row["shape"][len(again) :] if piece == row["shape"] else piece for piece in pieces]
    vessel = row.get("vessel") or {}
    if vessel.get("id"):
        state = vessel.get("state") or "state not recorded"
        extent = ", " + vessel["extent"] if vessel.get("extent") else ""
        own = vessel["id"] == told.name  # the vessel itself was named already
        if own and state.startswith(again):  # "material, flow around it", not "material" twice
            state = state[len(again) :]
        name = "" if own else told.catalogue.label(vessel["id"]).replace("_", " ") + ": "
        if not own or state != plain or extent:
            pieces.append(name + state + extent if not own or state != plain else extent[2:])
    if row.get("image"):
        pieces.append("image " + row["image"])
    words = ", ".join(pieces)
    return words + ": " + row["text"] if row.get("text") else words


def notes_words(told: Told) -> list:
    """Notes in their order; parts of which the same was noted share one: "Body and left lobe: ..."."""
    texts: list = []
    parts: list = []
    for row in told.notes:
        part = told.catalogue.label(row["about"]).partition(", ")[2] if row["about"] != told.name else ""
        text = str(row["text"])
        if part and text in texts and parts[texts.index(text)]:
            parts[texts.index(text)].append(part if part not in parts[texts.index(text)] else "")
        else:
            texts.append(text)
            parts.append([part] if part else [])
    return [
        several([part for part in parts[place] if part]) + ": " + text if parts[place] else text
        for place, text in enumerate(texts)
    ]


def readings_words(value: dict, unit: str, places: int) -> str:
    """The readings of a value as one line, all of them: "7.4, 7.1, 8.9 mm; mean 7.8, range 1.8"."""
    shown = [decimals.show(number, places) for number in value["numbers"]]
    words = wording.amount(", ".join(shown), unit)
    if len(shown) < 2:
        return words
    return (
        words + "; mean " + decimals.show(value["mean"], places) + ", range " + decimals.show(value["spread"], places)
    )


def pixel_words(pixel: tuple[int, int] | None) -> str | None:
    """ "one display pixel is 0.5 mm at this depth", where depth and rows were given."""
    if pixel is None:
        return None
    return "one display pixel is " + pixel_size(pixel) + " at this depth"


def pixel_size(pixel: tuple[int, int]) -> str:
    """ "0.5 mm", two places at most."""
    text = decimals.show(pixel, 2)
    while text[-1] == "0":
        text = text[:-1]
    return (text[:-1] if text[-1] == "." else text) + " mm"


def several(items: object) -> str:
    """ "a, b and c" of a list; a text stands as it is, with spaces for underscores."""
    if not isinstance(items, list):
        return str(items).replace("_", " ")
    words = [str(item) for item in items]
    if len(words) < 2:
        return "".join(words)
    return ", ".join(words[:-1]) + " and " + words[-1]


def sentence(text: str) -> str:
    """The text with a capital and a full stop, unless it ends with a mark of its own."""
    if not text:
        return text
    text = text[0].upper() + text[1:]
    return text if text[-1] in ".!?:" else text + "."
