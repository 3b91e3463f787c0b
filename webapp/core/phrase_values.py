"""Numbers that belong together: readings of one measure, the axes of a finding, a range.

Lists are told by commas, "and", or by their form ("4.2 4.3"); "by" and "x" join axes; "to" and a dash make a range,
which is never two readings. Digits said one after another ("one four") are no list.
"""

JOINERS = ("comma", "and", "or", "by", "to", "dash", "nearly")
CLAIMS = ("finding",)


class Value:
    """`texts`: decimal texts as said (None where unclear), `units`: the unit said with each or None.

    `unsure`: the numbers could be read in another way; `nearly`: "about" or the like stands before them;
    `bare`: the last number has no unit; `trailed`: an unknown word follows at once.
    """

    kind = "value"

    def __init__(self, first: int) -> None:
        self.first = first
        self.after = first
        self.texts: list = []
        self.units: list = []
        self.joins: list = []
        self.unsure = False
        self.nearly = False
        self.spoken = False
        self.bare = True
        self.trailed = False

    def axes(self) -> bool:
        return bool(self.joins) and all([join == "by" for join in self.joins])

    def plain(self) -> bool:
        """Whether these are readings of one measure, each clear."""
        return not self.unsure and all([join in ("list", "next") for join in self.joins])


def grouped(lexemes: list) -> list:
    """The lexemes with every run of numbers and units made one Value."""
    items, at = [], 0
    while at < len(lexemes):
        if lexemes[at].kind != "number" or _is_count(lexemes, at):
            items.append(lexemes[at])
            at += 1
            continue
        begin = at
        value, at = _value(lexemes, at)
        before = items[-1] if items else None
        if before is not None and before.kind == "nearly":
            value.nearly = True
        if before is not None and before.kind == "between":
            value.unsure = True
        if before is not None and (before.kind == "odd" or (before.kind == "dash" and lexemes[begin].touches)):
            value.unsure = True
        items.append(value)
    return items


def _value(lexemes: list, at: int) -> tuple:
    value = Value(lexemes[at].first)
    while True:
        number = lexemes[at]
        value.texts.append(number.value)
        value.spoken = value.spoken or number.number.spoken
        value.unsure = value.unsure or number.value is None
        at += 1
        value.bare = True
        value.units.append(None)
        if at < len(lexemes) and lexemes[at].kind == "unit":
            value.units[-1] = lexemes[at].value
            value.bare = False
            at += 1
        value.after = lexemes[at - 1].after
        behind = at
        while behind < len(lexemes) and lexemes[behind].kind in JOINERS and behind < at + 2:
            behind += 1
        if behind >= len(lexemes) or lexemes[behind].kind != "number":
            break
        join = _join(lexemes, at, behind)
        value.unsure = value.unsure or join == "sum"
        if _is_count(lexemes, behind) and join != "by":
            break
        value.joins.append(join)
        if join == "next" and not _stand_apart(lexemes, at, behind, value.bare):
            value.unsure = True
        at = behind
    if at < len(lexemes):
        value.unsure = value.unsure or _breaks_off(lexemes, at)
        value.trailed = lexemes[at].kind in ("unknown", "aside")
    return value, at


def _join(lexemes: list, at: int, behind: int) -> str:
    kinds = [lexeme.kind for lexeme in lexemes[at:behind]]
    if "to" in kinds or "dash" in kinds:
        return "range"
    if "nearly" in kinds:
        # "6 plus or minus 1", "6, about 7"
        return "sum"
    if "by" in kinds:
        return "by"
    if "or" in kinds:
        return "or"
    return "list" if kinds else "next"


def _stand_apart(lexemes: list, at: int, behind: int, bare: bool) -> bool:
    """Whether two numbers side by side are surely two: a unit between, a point in both, or both typed alike."""
    before, after = lexemes[at - 1], lexemes[behind]
    if not bare:
        # "4 cm 2 mm" is one length in two pieces, or two: asked.
        unit = lexemes[behind + 1] if behind + 1 < len(lexemes) else None
        return unit is not None and unit.kind == "unit" and unit.value == before.value
    if before.value is None or after.value is None:
        return False
    if "." in before.value and "." in after.value:
        return True
    typed = not before.number.spoken and not after.number.spoken
    alike = len(before.value) == len(after.value) and len(before.value) > 1
    return typed and alike and "." not in before.value + after.value


def _breaks_off(lexemes: list, at: int) -> bool:
    """ "5 x 9 min", "6 to", "6 1/2": the number goes on with something that is none."""
    kind = lexemes[at].kind
    behind = lexemes[at + 1].kind if at + 1 < len(lexemes) else ""
    return kind in ("odd", "by", "to", "or") or (kind in ("dash", "nearly") and behind in ("odd", "aside"))


def _is_count(lexemes: list, at: int) -> bool:
    """ "two nodules": how many there are, no size."""
    return at + 1 < len(lexemes) and lexemes[at + 1].kind in CLAIMS
