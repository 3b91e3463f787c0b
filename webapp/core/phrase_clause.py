"""What one clause of a phrase holds: places, what is said of them, and the words that limit what may be believed."""

from .phrase_places import Place


class Predicate:
    """Something said of a place. `strange`: unknown words stand between the place and this."""

    def __init__(self, kind: str, item, place: Place | None) -> None:
        self.kind = kind
        self.item = item
        self.place = place
        self.tokens: list = []
        self.features: list = []
        self.reasons: list = []
        self.axes = None
        self.strange = False
        self.denied = False
        self.followed: str = ""


class Clause:
    """places before and behind, predicates in order, and the kinds of the words that limit what may be believed."""

    def __init__(self) -> None:
        self.before: list = []
        self.behind: list = []
        self.predicates: list = []
        self.marks: list = []
        self.unknown: list = []
        self.corrects = False
        self.dropped: list = []
        self.kept_family: "str | None" = None
        self.starts_sentence = False
        # Tokens of "no" and of amounts, which belong to what is said of free fluid.
        self.words_used: list = []
        self.amount: "str | None" = None

    def has_mark(self, kind: str) -> bool:
        return any([mark == kind for mark, _ in self.marks])

    def is_empty(self) -> bool:
        return not self.before and not self.behind and not self.predicates and not self.corrects
