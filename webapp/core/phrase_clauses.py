"""Lexemes -> clauses: a place and what is said of it ("left adrenal caudal pole | 6.2 mm | not seen").

A clause ends at a full stop, at a comma once something was said, and where the next structure begins. What was
said stands behind its place; only where no place was named before ("mass in the spleen") the place behind counts.
"""

from .phrase_clause import Clause, Predicate
from .phrase_places import Place
from .phrase_vocabulary import Vocabulary

LOCATING = ("in", "of", "at", "on", "within", "the")
PREDICATES = ("state", "normal", "finding", "quality", "present", "as_expected")

# Words that are understood, but not here: they are kept, and what stands around them is asked about.
STRANGE = (
    "unknown", "odd", "aside", "because", "labels", "number", "no_side", "no_note", "reason", "or", "by", "to",
)  # fmt: skip


class Builder:
    """Cuts items (lexemes and values) into clauses."""

    def __init__(self, items: list, vocabulary: Vocabulary) -> None:
        self.items = items
        self.vocabulary = vocabulary
        self.clauses: list = []
        self.clause = Clause()
        self.comma = False
        self.related = False
        self.at = 0

    def built(self) -> list:
        self.clause.starts_sentence = True
        while self.at < len(self.items):
            item = self.items[self.at]
            self.at += 1
            self._take(item)
        self._close()
        return self.clauses

    def _take(self, item) -> None:
        kind = item.kind
        if kind == "comma":
            self.comma, self.related = True, False
            return
        if self.comma and self._comma_ends(item):
            self._close()
        if kind == "stop":
            self._stop(item)
        elif kind in ("side", "family", "feature", "unnamed"):
            self._place(item)
        elif kind == "value":
            self._value(item)
        elif kind in PREDICATES:
            self._predicate(item)
        elif kind == "corrections" or self._is_correcting(item):
            self._correct(item)
        elif kind in ("strikes", "notes"):
            self._alone(item)
        elif kind == "and":
            self._join("and")
        elif kind == "relations":
            self.related = True
            self._strange(item)
        elif kind == "reason" and self._is_late_reason():
            self.clause.predicates[-1].reasons.append(item.value)
            self.clause.predicates[-1].tokens += _tokens(item)
        elif kind not in ("fillers", "amounts"):
            self._limit(item)
        else:
            self._soft(item)
        self.comma = False

    def _is_late_reason(self) -> bool:
        """ "couldn't see the right adrenal, gas": the reason behind a place that was named last."""
        said = self.clause.predicates
        return bool(said) and said[-1].kind == "state" and bool(self.clause.behind) and not said[-1].reasons

    def _comma_ends(self, item) -> bool:
        """Whether the clause is over at the comma before this item."""
        said = self.clause.predicates
        if item.kind in ("exceptions", "as_expected", "comma", "stop", "and", "or"):
            return False
        if item.kind == "reason" and said and said[-1].kind == "state":
            return False
        if not said:
            self._join("comma")
            return self._fluid_denied()
        last = said[-1]
        if item.kind in ("finding", "quality") and (last.denied or self.clause.has_mark("hedges")):
            # "no mass, nodule or cyst": the "no" holds for the whole list.
            return False
        if item.kind == "value" and last.kind == "finding" and last.axes is None and not last.denied:
            return False
        return not (
            item.kind in ("side", "family", "feature")
            and last.kind == "finding"
            and last.place is None
            and not last.denied
        )

    def _fluid_denied(self) -> bool:
        """ "no free fluid": said in full without any other word."""
        places = self.clause.before
        return len(places) == 1 and places[0].family == "free_fluid" and self.clause.has_mark("none")

    def _join(self, how: str) -> None:
        if self.clause.before and not self.clause.predicates:
            last = self.clause.before[-1]
            if last.joined != "and":
                last.joined = how
            if how == "comma" and last.sides == ["right"] and last.only_side():
                # "Right, kidney six centimetres": a word of the speaker, perhaps no side.
                last.doubtful = True

    def _stop(self, item) -> None:
        if item.value == "?":
            self.clause.marks.append(("hedges", len(self.clause.predicates)))
            for predicate in self.clause.predicates:
                predicate.strange = True
        self._close()
        self.related = False
        self.clause.starts_sentence = True

    def _close(self) -> None:
        if not self.clause.is_empty() or self.clause.marks or self.clause.unknown:
            self.clauses.append(self.clause)
        self.clause = Clause()
        self.comma = False
        self.related = False

    # Places

    def _place(self, item) -> None:
        if self.related:
            self._strange(item)
            return
        clause = self.clause
        if not clause.predicates:
            if self._fluid_denied() and self._begins_anew(clause.before[0], item):
                self._close()
            self._into(self.clause.before, item)
            return
        last = clause.predicates[-1]
        if self._is_postponed(item, last):
            last.features.append(item.value)
            last.tokens += _tokens(item)
        elif self._locates(item, last):
            self._into(clause.behind, item)
        elif self._is_site(item, last):
            self._into(clause.before, item)
        elif all([self._may_complete(one) for one in clause.predicates]):
            self._complete(item)
        else:
            self._close()
            self._into(self.clause.before, item)

    def _may_complete(self, one: Predicate) -> bool:
        """Whether a place may still come behind what was said; a number must stand right before it."""
        if one.kind == "value":
            return one.place is None and not any([at > one.item.first for at, _ in self.clause.unknown])
        return one.place is None or one.place.only_side()

    def _complete(self, item) -> None:
        """The place comes behind what was said of it ("mass in the spleen", "left enlarged kidney")."""
        clause = self.clause
        if clause.before and clause.before[-1].only_side():
            self._into(clause.before, item)
            return
        if clause.behind and self._begins_anew(clause.behind[-1], item) and item.kind != "feature":
            self._close()
            self._into(self.clause.before, item)
            return
        self._into(clause.behind, item)

    def _is_postponed(self, item, last: Predicate) -> bool:
        """ "6 cm long", "6 cm in length": the measure behind its number."""
        if last.kind != "value" or item.kind != "feature" or item.value not in self.vocabulary.table["measures"]:
            return False
        if last.place is None or any([one in self.vocabulary.table["measures"] for one in last.place.features]):
            return False
        return self.at >= len(self.items) or self.items[self.at].kind != "value"

    def _locates(self, item, last: Predicate) -> bool:
        """ "left kidney cyst in the cranial pole": the part of what was found."""
        if last.kind != "finding" or last.place is None or item.kind != "feature" or self.at < 2:
            return False
        before = self.items[self.at - 2]
        return before.kind == "fillers" and before.words in LOCATING

    def _is_site(self, item, last: Predicate) -> bool:
        """ "no free fluid seen between liver and diaphragm": the site narrows what was said."""
        fluid = last.place is not None and last.place.family == "free_fluid"
        return fluid and item.kind == "feature" and last.kind in ("present", "state")

    def _into(self, places: list, item) -> None:
        if not places or self._begins_anew(places[-1], item):
            places.append(Place())
            # "left or right kidney": two sides, and neither was chosen.
            places[-1].doubtful = len(places) > 1 and item.kind == "side" and places[-2].only_side()
        place = places[-1]
        place.tokens += _tokens(item)
        if item.kind == "side":
            place.sides += [item.value] if item.value not in place.sides else []
        elif item.kind == "feature":
            place.features += [item.value] if item.value not in place.features else []
            place.short = place.short or (place.family is None and item.entry.short)
        else:
            place.family = item.value if item.kind == "family" else None
            place.unnamed = item.value if item.kind == "unnamed" else None
            place.short = item.entry.short
            if item.entry.side and item.entry.side not in place.sides:
                place.sides.append(item.entry.side)
            if item.entry.feature and item.entry.feature not in place.features:
                place.features.append(item.entry.feature)
        place.ask = place.ask or item.ask

    def _begins_anew(self, place: Place, item) -> bool:
        """Whether this word begins another place instead of saying more about this one."""
        named = place.family is not None or place.unnamed is not None
        if item.kind == "side":
            if item.value in place.sides:
                return named and self._family_follows()
            if place.only_side():
                return place.joined != "and"
            return named and (bool(place.sides) or self._family_follows() or not self._can_be_sided(place))
        if item.kind == "feature":
            return place.family is not None and place.family not in self.vocabulary.homes(item.value)
        if not named and place.features:
            return not all([item.value in self.vocabulary.homes(feature) for feature in place.features])
        return named and item.value != place.family

    def _can_be_sided(self, place: Place) -> bool:
        family = place.family
        return family is not None and (self.vocabulary.sided(family) or bool(self.vocabulary.lobes(family)))

    def _family_follows(self) -> bool:
        at = self.at
        while at < len(self.items) and self.items[at].kind == "fillers":
            at += 1
        return at < len(self.items) and self.items[at].kind in ("family", "unnamed")

    # What is said of a place

    def _nearest(self) -> Place | None:
        clause = self.clause
        if clause.behind and clause.predicates[-1].kind == "finding":
            return clause.behind[-1]
        return clause.before[-1] if clause.before else None

    def _add(self, kind: str, item) -> Predicate:
        place = self.clause.behind[-1] if self.clause.behind and not self.clause.before else self._nearest()
        predicate = Predicate(kind, item, place)
        predicate.tokens = _tokens(item)
        predicate.strange = self._strangers(place)
        self.clause.predicates.append(predicate)
        return predicate

    def _strangers(self, place: Place | None) -> bool:
        """Whether unknown words stand between the place and what comes now (anywhere before it, without a place)."""
        first = min(place.tokens) if place is not None and place.tokens else -1
        return any([at > first for at, _ in self.clause.unknown])

    def _value(self, item) -> None:
        last = self.clause.predicates[-1] if self.clause.predicates else None
        if last is not None and last.kind == "finding" and last.axes is None and not last.denied:
            last.axes = item
            last.tokens += _tokens(item)
            last.strange = last.strange or self._strangers(last.place)
            return
        if last is not None and last.kind == "value" and last.place is None and self.clause.behind:
            # "12, left kidney 6 cm": the first number belongs to nothing that was named.
            self.clause.predicates.remove(last)
            self.clause.before, self.clause.behind = self.clause.behind, []
        if last is not None and last.kind == "value" and last.place is not None:
            # A second number for one place: unknown words between them may name what it measures.
            strange = any([count == len(self.clause.predicates) for _, count in self.clause.unknown])
            self._close()
            if strange:
                self._strange(item)
        self._add("value", item).denied = self.clause.has_mark("negations")

    def _predicate(self, item) -> None:
        if item.kind == "quality" and self._describes():
            self._soft(item)
            return
        last = self.clause.predicates[-1] if self.clause.predicates else None
        predicate = self._add(item.kind, item)
        predicate.denied = self.clause.has_mark("negations")
        if item.kind == "finding" and last is not None and last.kind == "value" and self._adjacent(last.item, item):
            predicate.axes = last.item
            predicate.tokens += _tokens(last.item)
            self.clause.predicates.remove(last)
        if item.kind == "state":
            self._reasons(predicate)
        following = self.items[self.at] if self.at < len(self.items) else None
        predicate.followed = following.kind if following is not None else ""

    def _adjacent(self, value, item) -> bool:
        """ "8 mm nodule": the number stands right before what it measures."""
        return value.after == item.first and not value.bare

    def _describes(self) -> bool:
        """ "dark nodule", "small amount": a quality that only describes the word behind it."""
        following = self.items[self.at] if self.at < len(self.items) else None
        return following is not None and following.kind in ("finding", "unknown", "quality")

    def _reasons(self, predicate: Predicate) -> None:
        """Takes "..., because of gas and ribs" behind a state."""
        at, taken = self.at, []
        while at < len(self.items):
            item = self.items[at]
            words = getattr(item, "words", "")
            if item.kind == "reason":
                predicate.reasons += [item.value] if item.value not in predicate.reasons else []
                taken += _tokens(item)
                predicate.tokens += taken
                taken = []
                self.at = at + 1
            elif item.kind in ("comma", "fillers", "and", "because") or words in self.vocabulary.table["because"]:
                taken += _tokens(item)
            else:
                return
            at += 1

    # Words that limit

    def _strange(self, item) -> None:
        self.clause.unknown.append((item.first, len(self.clause.predicates)))

    def _soft(self, item) -> None:
        """Grammar words, qualities that only describe, and amounts."""
        if item.kind == "amounts":
            self.clause.marks.append(("amounts", len(self.clause.predicates)))
            self.clause.amount = item.words
            self.clause.words_used += _tokens(item)

    def _limit(self, item) -> None:
        kind = "negations" if item.kind == "refusals" else item.kind
        if kind in STRANGE:
            self._strange(item)
            return
        if kind in ("nearly", "between", "unit", "dash"):
            return
        self.clause.marks.append((kind, len(self.clause.predicates)))
        if kind == "negations":
            self.clause.words_used += _tokens(item)
            if item.words in self.vocabulary.table["none_words"]:
                self.clause.marks.append(("none", len(self.clause.predicates)))

    def _is_correcting(self, item) -> bool:
        """ "no, six point four": a "no" before a number takes back what was said."""
        if item.kind != "refusals":
            return False
        at = self.at
        while at < len(self.items) and self.items[at].kind in ("comma", "fillers", "corrections"):
            at += 1
        return at < len(self.items) and self.items[at].kind == "value"

    def _correct(self, item) -> None:
        clause = self.clause
        if clause.predicates or clause.corrects:
            self._close()
            self.clause.corrects = True
            self.clause.dropped += _tokens(item)
            return
        following = self.items[self.at] if self.at < len(self.items) else None
        if clause.before and following is not None and following.kind == "value":
            clause.dropped += _tokens(item)
            return
        if clause.before:
            # "left kidney, correction, right kidney pelvis": the place said first does not count.
            clause.kept_family = clause.before[-1].family
            for place in clause.before:
                clause.dropped += place.tokens
            clause.before = []
            clause.dropped += _tokens(item)
            return
        clause.corrects = True
        clause.dropped += _tokens(item)

    def _alone(self, item) -> None:
        if item.kind == "notes" and (self.clause.before and not self.clause.predicates):
            self._strange(item)
            return
        if item.kind == "strikes" and (self.clause.marks or self.clause.unknown) and not self.clause.predicates:
            self._strange(item)
            return
        self._close()
        self.clause.predicates.append(Predicate(item.kind, item, None))
        self.clause.predicates[-1].tokens = _tokens(item)
        self._close()
        if item.kind == "notes":
            self.at = len(self.items)


def _tokens(item) -> list:
    return list(range(item.first, item.after))
