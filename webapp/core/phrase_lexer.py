"""Tokens -> lexemes: what each word or group of words stands for beside the words around it.

The longest alias wins. A unit counts behind a number, "about" before one; "ml" is millilitres behind a number and
the medial iliac nodes else. What is no alias and no number is "unknown" and kept.
"""

from . import phrase_numbers
from .phrase_vocabulary import Entry, Vocabulary

STOPS = ".;!?\u2026"
COMMAS = ",:|"
NEARLY = "~<>\u2248\u2264\u2265\u00b1+"
PLACES = ("family", "feature", "unnamed")


class Lexeme:
    """kind and value as in the vocabulary; the tokens from `first` to before `after`; `words` as compared."""

    def __init__(self, kind: str, value, first: int, after: int, words: str) -> None:
        self.kind = kind
        self.value = value
        self.first = first
        self.after = after
        self.words = words
        self.entry = Entry(kind, value)
        self.number: "phrase_numbers.Number | None" = None
        self.ask = False
        self.touches = False


class Lexer:
    """Walks over the tokens once; `family` is the structure spoken of last, which gives scoped words their meaning."""

    def __init__(self, tokens: list, vocabulary: Vocabulary, family: str | None) -> None:
        self.tokens = tokens
        self.vocabulary = vocabulary
        self.table = vocabulary.table
        self.family = family
        self.words = [vocabulary.meant(token.word) if token.kind == "word" else "\0" for token in tokens]
        self.found: list = []

    def lexemes(self) -> list:
        at = 0
        while at < len(self.tokens):
            lexeme = self._next(at)
            self.found.append(lexeme)
            if lexeme.kind == "family":
                self.family = lexeme.value
            at = lexeme.after
        return self.found

    def _next(self, at: int) -> Lexeme:
        token = self.tokens[at]
        if token.kind == "mark":
            return Lexeme(_mark(token.word), token.word, at, at + 1, token.word)
        if token.kind == "odd":
            return Lexeme("odd", None, at, at + 1, token.word)
        number = self._number(at)
        if number is not None:
            return number
        if token.kind == "number":
            return Lexeme("odd", None, at, at + 1, token.word)
        return self._alias(at)

    def _number(self, at: int) -> Lexeme | None:
        number = phrase_numbers.read(self.tokens, at, self.table)
        before = self.found[-1] if self.found else None
        if number is None and self._is_unit(at + 1) and self.words[at] in self.table["sounds_like_a_number"]:
            # "for millimetres": something was said there that sounds like a number.
            number = phrase_numbers.Number(None, at, at + 1, True)
        if number is None:
            return None
        spoken = self.words[number.first : number.after]
        if spoken[0] in self.table["points"] and before is not None and self._unclear(before):
            number.text = None
        if before is not None and before.words in self.table["sounds_like_a_number"] and not self._is_range():
            # "for two", "to two": one of them may be a number that was written as a word.
            number.text = None
        if spoken == ["one"] and self._is_pronoun(at):
            return None
        foreign = self._foreign_length(number.after)
        if foreign or (before is not None and before.kind == "labels"):
            after = number.after + foreign
            return Lexeme("aside", None, at, after, " ".join(self.words[at:after]))
        lexeme = Lexeme("number", number.text, at, number.after, " ".join(spoken))
        lexeme.number = number
        lexeme.touches = at > 0 and self.tokens[at - 1].end == self.tokens[at].start
        return lexeme

    def _is_range(self) -> bool:
        """Whether "to" was said between two numbers."""
        return self.found[-1].kind == "to" and len(self.found) > 1 and self.found[-2].kind in ("number", "unit")

    def _foreign_length(self, at: int) -> int:
        """How many words behind a number say that it is no size ("years", "per cent"); 0 where none do."""
        if at >= len(self.words):
            return 0
        matches = self.vocabulary.matches(self.words, at)
        if not matches or any([entry.kind == "unit" and length == matches[0][1] for entry, length in matches]):
            return 0
        return max([length for entry, length in matches if entry.kind == "foreign"] or [0])

    def _unclear(self, before: Lexeme) -> bool:
        """Whether a point follows something that may be the lost whole number ("for point two")."""
        return before.kind in ("unknown", "odd") or before.words in self.table["sounds_like_a_number"]

    def _is_pronoun(self, at: int) -> bool:
        behind = self.words[at - 1] if at else ""
        return behind in self.table["before_one"] and not self._is_unit(at + 1)

    def _is_unit(self, at: int) -> bool:
        return self.vocabulary.is_a("unit", self.words, at)

    def _alias(self, at: int) -> Lexeme:
        for entry, length in self.vocabulary.matches(self.words, at):
            if self._in_scope(entry, at + length) and self._holds(entry, at, length):
                lexeme = Lexeme(entry.kind, entry.value, at, at + length, " ".join(self.words[at : at + length]))
                lexeme.entry = entry
                raw = [token.word for token in self.tokens[at : at + length]]
                lexeme.ask = entry.ask or any([word in self.table["another_thing"] for word in raw])
                return lexeme
        return Lexeme("unknown", None, at, at + 1, self.tokens[at].word)

    def _in_scope(self, entry: Entry, behind: int) -> bool:
        """Whether the structure spoken of, or the one named right behind ("head of the spleen"), gives it its sense."""
        return entry.only is None or self.family in entry.only or self._family_at(behind) in entry.only

    def _family_at(self, at: int) -> str | None:
        skipped = 0
        while at < len(self.words) and skipped < 4:
            for entry, _ in self.vocabulary.matches(self.words, at):
                if entry.kind == "family":
                    return entry.value
            if self.words[at] not in self.table["fillers"] and not self.vocabulary.is_a("side", self.words, at):
                return None
            at += 1
            skipped += 1
        return None

    def _holds(self, entry: Entry, at: int, length: int) -> bool:
        """Whether the alias means this here, by what stands before and behind it."""
        before = self.found[-1].kind if self.found else ""
        word = self.words[at]
        if entry.kind == "unit":
            return before == "number" or (entry.value in ("mm", "cm") and len(word) > 1)
        if entry.kind == "foreign":
            return False
        if before == "number" and self._is_unit(at) and entry.kind in ("family", "side"):
            return False
        if entry.kind in ("nearly", "between", "labels"):
            return self._number_follows(at + length)
        if entry.kind == "side" and len(word) == 1:
            return before in PLACES or self._place_follows(at + 1, False)
        if entry.kind == "reason" and word == "other" and length == 1:
            return at + 1 >= len(self.tokens) or self.tokens[at + 1].kind == "mark"
        if entry.kind == "normal" and word == "n":
            behind = at + 1 >= len(self.tokens) or self.tokens[at + 1].kind == "mark"
            return before in PLACES and (behind or self._place_follows(at + 1, True))
        return True

    def _number_follows(self, at: int) -> bool:
        if at >= len(self.tokens):
            return False
        if self.tokens[at].kind in ("number", "odd"):
            return True
        return phrase_numbers.read(self.tokens, at, self.table) is not None

    def _place_follows(self, at: int, is_short: bool) -> bool:
        if at >= len(self.words):
            return False
        for entry, _ in self.vocabulary.matches(self.words, at):
            if entry.kind in PLACES and (entry.short or not is_short) and self._in_scope(entry, at + 1):
                return True
        return False


def _mark(sign: str) -> str:
    if sign in STOPS:
        return "stop"
    if sign in COMMAS:
        return "comma"
    if sign in NEARLY:
        return "nearly"
    if sign in "\u00d7*":
        return "by"
    if sign in "-\u2013\u2014\u2212":
        return "dash"
    if sign == "&":
        return "and"
    return "labels" if sign == "#" else "fillers"
