"""Clauses -> drafts of proposals: what was said of which place, with everything that a person must confirm.

A draft is a dict with "do", "asks" (set as {name: True}), "tokens" and what its kind needs; phrase_finish.py makes
the proposals of it. What is refused leaves its words to the left-over ones.
"""

from . import phrase_corrections as corrections
from . import phrase_places as places
from .phrase_places import Place
from .phrase_vocabulary import Vocabulary


class Reader:
    """Reads the clauses of one phrase in order. `context` is the sticky place, `sticky` its quantity or None."""

    def __init__(self, vocabulary: Vocabulary, context: Place | None, sticky: str | None) -> None:
        self.vocabulary = vocabulary
        self.context = context
        self.sticky = sticky
        self.offers: list = []
        self.just_named: "Place | None" = None
        self.sticky_family = context.family if context is not None else None
        self.out: list = []
        self.carried: list = []
        self.sentence = 0
        self.doubted: list = []
        self.refused = False
        self.spoken_of: "Place | None" = None

    def read(self, clauses: list, token_count: int) -> list:
        for clause in clauses:
            if clause.starts_sentence:
                self.sentence = len(self.out)
            self._clause(clause, token_count)
        return corrections.without_contradicted(self.out, self.doubted)

    def _clause(self, clause, token_count: int) -> None:
        kinds = [one.kind for one in clause.predicates]
        if kinds == ["strikes"]:
            corrections.strike(self, clause.predicates[0])
            return
        if kinds == ["notes"]:
            tokens = list(range(clause.predicates[0].tokens[0], token_count))
            self.add({"do": "note", "tokens": tokens, "from": clause.predicates[0].tokens[-1] + 1}, clause)
            return
        if clause.has_mark("exceptions"):
            corrections.take_back_normals(self)
        before = self.context
        if clause.kept_family is not None:
            before = Place()
            before.family = clause.kept_family
        if clause.corrects and corrections.corrected(self, clause):
            return
        self._said(clause, before)
        self._remember(clause, before)
        only_places = clause.before and not clause.predicates and not clause.unknown and not clause.marks
        self.just_named = clause.before[-1] if only_places else None

    def _said(self, clause, context: Place | None) -> None:
        """The proposals of one clause, each predicate in turn."""
        self.refused = False
        if self._is_free_fluid(clause, context):
            return
        for predicate in clause.predicates:
            place = predicate.place
            if place is None:
                place = clause.behind[0] if clause.behind else Place()
            elif clause.behind and predicate.kind == "finding":
                place = self._with_part(place, clause.behind[-1])
            handled = HANDLERS[predicate.kind](self, predicate, place, clause, context)
            self.refused = self.refused or not handled

    def _with_part(self, place: Place, behind: Place) -> Place:
        made = place.copy()
        if behind.family is None or behind.family == place.family:
            made.features = made.features + behind.features
            made.tokens = made.tokens + behind.tokens
            made.sides = made.sides or behind.sides
        return made

    def _remember(self, clause, context: Place | None) -> None:
        """The place spoken of last: what follows without a place of its own belongs there."""
        named = clause.behind[-1:] or clause.before[-1:]
        if named and not named[0].is_empty():
            made = places.completed(named[0], context, self.vocabulary, False)
            if made.family is not None:
                self.context = made
                self.spoken_of = made

    def add(self, draft: dict, clause) -> None:
        draft["tokens"] = draft["tokens"] + clause.dropped + self.carried
        clause.dropped, self.carried = [], []
        draft.setdefault("asks", {})
        self.out.append(draft)

    def _blocked(self, clause) -> bool:
        return clause.has_mark("blocks")

    def _doubted(self, clause) -> bool:
        return clause.has_mark("hedges") or clause.has_mark("blocks")

    # Readings

    def _value(self, predicate, place: Place, clause, context: Place | None) -> bool:
        value = predicate.item
        if self._doubted(clause) or predicate.denied or "by" in value.joins:
            return False
        if place.is_empty():
            return self._bare(predicate, clause)
        made = places.completed(place, context, self.vocabulary, True)
        features = places.features_with_lobe(made, self.vocabulary) + predicate.features
        found = self._quantity(made, features, value)
        if found is None:
            return False
        draft = {"do": "read", "value": value, "offers": found["offers"], "pattern": found["id"], "asks": {}}
        draft["tokens"] = place.tokens + predicate.tokens
        draft["place"], draft["short"] = made, made.short and not value.spoken
        if found["ask"] or made.ask or self._strange(predicate, place):
            draft["asks"]["structure"] = True
        if self._idle_side(made):
            draft["asks"]["structure"] = True
        if any([one.family == made.family and one.sides and one.sides != made.sides for one in clause.before]):
            # "left kidney right kidney 6 cm": which of the two?
            draft["asks"]["side"] = True
        self.add(draft, clause)
        self.sticky, self.offers, self.sticky_family = found["id"], found["offers"], made.family
        return True

    def _idle_side(self, made: Place) -> bool:
        """A side beside a structure that has none ("left spleen"): it was meant for another."""
        if made.family is None or not made.sides:
            return False
        return not self.vocabulary.sided(made.family) and not self.vocabulary.lobes(made.family)

    def _quantity(self, made: Place, features: list, value) -> dict | None:
        if made.unnamed is not None:
            among = self.vocabulary.table["unnamed"][made.unnamed]["among"]
            fitting = [places.quantity(family, features, self.vocabulary) for family in among]
            offers = [one["id"] for one in fitting if one is not None]
            return {"id": places.common(offers), "ask": True, "offers": offers} if offers else None
        if made.family is None:
            return None
        found = places.quantity(made.family, features, self.vocabulary)
        is_length = any([unit in ("mm", "cm") for unit in value.units])
        if found is not None and found["id"] == "free_fluid.score" and is_length:
            return {"id": "free_fluid.deepest_pocket", "ask": True, "offers": ["free_fluid.deepest_pocket"]}
        return found

    def _strange(self, predicate, place: Place) -> bool:
        """Unknown words between the place and the number, or right behind a number: it may measure something else."""
        return predicate.strange or (predicate.item.trailed and not predicate.item.bare)

    def _bare(self, predicate, clause) -> bool:
        """A number alone: one more reading of what was read last, in this phrase or by the sticky context."""
        if predicate.strange or clause.unknown or self.refused:
            return False
        if self.just_named is not None:
            return self._named_before(predicate, self.just_named, clause)
        if self.sticky is None or self.context is None:
            return False
        if self.context.family != self.sticky_family:
            return False
        draft = {"do": "read", "value": predicate.item, "offers": self.offers, "pattern": self.sticky, "asks": {}}
        draft["tokens"] = list(predicate.tokens)
        draft["place"], draft["short"] = self.context, self.context.short and not predicate.item.spoken
        if self._right_as_a_word(clause) or places.OPEN in self.sticky:
            draft["asks"]["side" if "*" in self.sticky else "structure"] = True
        self.add(draft, clause)
        return True

    def _named_before(self, predicate, place: Place, clause) -> bool:
        """ "Left kidney. Six centimetres.": the place stood in a sentence of its own, so a person confirms it."""
        if not self._value(predicate, place, clause, self.context):
            return False
        self.out[-1]["asks"]["structure"] = True
        return True

    def _right_as_a_word(self, clause) -> bool:
        return any([one.doubtful for one in clause.before])

    # Findings

    def _finding(self, predicate, place: Place, clause, context: Place | None) -> bool:
        made = places.completed(place, context, self.vocabulary, False)
        structures = places.structure_ids(made, self.vocabulary)
        kinds = [one.kind for one in clause.predicates]
        not_seen = any([one.kind == "state" and one.item.value != "whole" for one in clause.predicates])
        if predicate.denied or not_seen:
            return False
        if self._doubted(clause):
            self.doubted += [structure for structure, _ in structures]
            return False
        if predicate.kind == "finding" and predicate.axes is not None:
            measure = self._lesion_measure(predicate, made)
            if measure is not None:
                self.add(measure, clause)
                return True
        if predicate.kind == "quality" and (not structures or predicate.followed in ("unknown", "aside")):
            return False
        if len(structures) > 1 and "finding" in kinds and predicate.axes is not None:
            structures = [(str(made.family) + "." + places.OPEN, None)]
        for where in structures or [(places.OPEN, None)]:
            self._found(predicate, made, place, where, clause)
        return True

    def _found(self, predicate, made: Place, place: Place, where: tuple, clause) -> None:
        structure, part = where
        draft = {"do": "finding", "structure": structure, "part": part, "finding": predicate.item.value, "asks": {}}
        draft["value"] = predicate.axes
        draft["text"] = predicate.item.words if predicate.item.entry.keep else None
        draft["tokens"] = place.tokens + predicate.tokens
        draft["short"] = made.short and predicate.axes is not None and not predicate.axes.spoken
        if structure == places.OPEN or made.ask or (predicate.axes is not None and predicate.strange):
            draft["asks"]["structure"] = True
        elif structure[-1] == places.OPEN:
            draft["asks"]["side"] = True
        self.add(draft, clause)

    def _lesion_measure(self, predicate, made: Place) -> dict | None:
        """A measure of a numbered lesion, or of material in the vena cava, said by name ("les len 20")."""
        named = [one for one in self.vocabulary.table["lesion_quantities"] if one in made.features]
        if len(named) != 1 or not predicate.axes.plain():
            return None
        draft = {"do": "read", "value": predicate.axes, "offers": [], "asks": {}, "place": made}
        draft["tokens"] = made.tokens + predicate.tokens
        draft["short"] = not predicate.axes.spoken and predicate.item.words == "les"
        if predicate.item.value == "material" and made.family == "vena_cava":
            found = places.quantity("vena_cava", ["material"] + named, self.vocabulary)
            draft["pattern"] = found["id"] if found else None
            return draft if found else None
        if predicate.item.value == "other" and made.family is None:
            draft["pattern"] = self.vocabulary.table["lesion_quantities"][named[0]]
            draft["asks"]["structure"] = True
            return draft
        return None

    # States

    def _state(self, predicate, place: Place, clause, context: Place | None) -> bool:
        state = predicate.item.value
        kinds = [one.kind for one in clause.predicates]
        if "finding" in kinds or "quality" in kinds:
            return state == "whole" and self._swallow(predicate)
        if predicate.denied or self._doubted(clause) or clause.has_mark("exceptions"):
            return False
        if predicate.followed in ("unknown", "odd", "aside", "to", "relations", "nearly"):
            return False
        if state in ("whole", "removed") and clause.unknown:
            return False
        if state == "whole" and "normal" in kinds:
            return self._swallow(predicate)
        if state == "not_seen" and "as_expected" in kinds:
            state = "not_visible_expected"
            for one in clause.predicates:
                if one.kind == "as_expected":
                    predicate.tokens = predicate.tokens + one.tokens
        made = places.completed(place, context, self.vocabulary, False)
        return self._states(predicate, place, clause, made, state)

    def _states(self, predicate, place: Place, clause, made: Place, state: str) -> bool:
        """The state of a structure or part; a part that was called normal was seen whole."""
        normal = predicate.kind == "normal"
        parts = places.features_with_lobe(made, self.vocabulary)
        draft = {"do": "seen", "seen": state, "why": predicate.reasons, "normal": normal}
        tokens = place.tokens + predicate.tokens
        if made.family is None:
            homes = [family for family in self.vocabulary.families if self._all_parts(family, parts)]
            if made.unnamed is not None or not parts or not homes or predicate.strange:
                return False
            offers = [one for family in homes for one in self.vocabulary.structures[family]]
            draft.update({"structure": places.OPEN, "part": parts[-1], "asks": {"structure": True}, "tokens": tokens})
            draft["offers"] = offers
            self.add(draft, clause)
            return True
        if made.family == "free_fluid" or not self._all_parts(made.family, parts):
            return False
        structures = places.structure_ids(made, self.vocabulary)
        for structure, part in structures:
            one = dict(draft)
            asks = {"structure": True} if made.ask or predicate.strange else {}
            if structure[-1] == places.OPEN:
                asks["side"] = True
            one.update({"structure": structure, "part": part, "asks": asks, "tokens": tokens})
            self.add(one, clause)
        return bool(structures)

    def _all_parts(self, family: str, features: list) -> bool:
        """Whether all that was named are parts of the structure: "jejunum wall" is not the jejunum."""
        sided = self.vocabulary.sided(family)
        return all([one in self.vocabulary.parts[family] or (one == "lobe" and not sided) for one in features])

    def _swallow(self, predicate) -> bool:
        """ "seen" beside a stronger word says nothing more; its tokens go with the next draft of the phrase."""
        self.carried += predicate.tokens
        return True

    # Normal

    def _normal(self, predicate, place: Place, clause, context: Place | None) -> bool:
        if predicate.denied or self._doubted(clause) or clause.has_mark("exceptions") or clause.unknown:
            return False
        if place.is_empty():
            if context is None or context.features or clause.behind or clause.before:
                return False
            place = context
        listed = self._listed(place, clause)
        sure = len(listed) < 2 or listed[-2].joined == "and"
        said = False
        for number, one in enumerate(listed):
            last = number == len(listed) - 1
            said = self._one_normal(predicate, one, clause, context, sure or last) or said
        return said

    def _listed(self, place: Place, clause) -> list:
        """The places before the word: "liver, spleen and stomach normal" is said of all three."""
        listed = []
        for one in clause.before:
            listed.append(one)
            if one is place:
                return listed
        return [place] + clause.behind[1:]

    def _one_normal(self, predicate, place: Place, clause, context: Place | None, sure: bool) -> bool:
        made = places.completed(place, context, self.vocabulary, False)
        features = places.features_with_lobe(made, self.vocabulary)
        if made.family is None or made.family == "free_fluid":
            return False
        if features or (made.sides and self.vocabulary.lobes(made.family)):
            return self._states(predicate, place, clause, made, "whole")
        structures = places.structure_ids(made, self.vocabulary)
        for structure, _ in structures:
            asks = {"structure": True} if made.ask or not sure else {}
            if structure[-1] == places.OPEN:
                asks["side"] = True
            if self._idle_side(made):
                asks["structure"] = True
            tokens = place.tokens + predicate.tokens
            self.add({"do": "normal", "structure": structure, "asks": asks, "tokens": tokens}, clause)
        return bool(structures)

    def _ignored(self, predicate, place: Place, clause, context: Place | None) -> bool:
        return True

    # Free fluid

    def _is_free_fluid(self, clause, context: Place | None) -> bool:
        """ "no free fluid", "free fluid present", "trace of free fluid": a finding without a word for one."""
        named = (clause.before + clause.behind)[-1:]
        if not named or named[0].family != "free_fluid" or clause.unknown or self._doubted(clause):
            return False
        if clause.has_mark("exceptions"):
            return False
        for one in clause.predicates:
            if one.kind != "present" and not (one.kind == "state" and one.item.value == "whole"):
                return False
        denied = clause.has_mark("none") or (clause.has_mark("negations") and bool(clause.predicates))
        if not denied and (clause.has_mark("negations") or not (clause.predicates or clause.has_mark("amounts"))):
            return False
        part = [one for one in named[0].features if one in self.vocabulary.parts["free_fluid"]]
        draft = {"do": "finding", "structure": "free_fluid", "part": part[-1] if part else None, "value": None}
        draft["finding"] = "none" if denied else "fluid"
        draft["tokens"] = list(named[0].tokens) + clause.words_used
        for one in clause.predicates:
            draft["tokens"] += one.tokens
        draft["text"], draft["short"] = clause.amount, False
        self.add(draft, clause)
        return True


HANDLERS = {
    "value": Reader._value,
    "finding": Reader._finding,
    "quality": Reader._finding,
    "state": Reader._state,
    "normal": Reader._normal,
    "present": Reader._ignored,
    "as_expected": Reader._ignored,
}
