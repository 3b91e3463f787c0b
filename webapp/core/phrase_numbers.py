"""Numbers in words or digits, read strictly: "six point oh four" is 6.04; "four two", "six point" and "for point
two" are no number but a question. Nothing is added up: "four by twelve" stays two numbers.

A spoken digit belongs to the number before it unless a point follows it ("three point five three point four").
"""

from .phrase_tokens import DIGITS

MOST_DECIMALS = 2


class Number:
    """`text`: a decimal text, or None where it could be read in several ways; its tokens: `first` to before `after`."""

    def __init__(self, text: str | None, first: int, after: int, spoken: bool) -> None:
        self.text = text
        self.first = first
        self.after = after
        self.spoken = spoken


def read(tokens: list, at: int, words: dict) -> Number | None:
    """The number that begins at a token, or None; `words` are the vocabulary's number words."""
    token = tokens[at]
    if token.kind == "number":
        return _typed(tokens, at, words)
    if token.kind != "word":
        return None
    if token.word in words["points"]:
        return _bare_point(tokens, at, words)
    if token.word in words["sounds_like_a_number"] and _word(tokens, at + 1) in words["points"]:
        decimals = _decimals(tokens, at + 2, words)
        return Number(None, at, decimals[1], True) if decimals[1] > at + 2 else None
    return _spoken(tokens, at, words)


def _word(tokens: list, at: int) -> str:
    return tokens[at].word if 0 <= at < len(tokens) and tokens[at].kind == "word" else ""


def _typed(tokens: list, at: int, words: dict) -> Number:
    text = tokens[at].word if tokens[at].sure else None
    if _word(tokens, at + 1) in words["points"]:
        if "." in tokens[at].word:
            return Number(None, at, at + 2, False)
        return _with_point(tokens[at].word, tokens, at, at + 1, words)
    if _half(tokens, at + 1):
        return Number(text + ".5" if text is not None and "." not in text else None, at, at + 4, False)
    return Number(text, at, at + 1, False)


def _bare_point(tokens: list, at: int, words: dict) -> Number | None:
    """ "point six": 0.6, where nothing unknown stands before it (the lexer looks at that)."""
    digits, after = _decimals(tokens, at + 1, words)
    if after == at + 1:
        return None
    return Number("0." + digits if digits else None, at, after, True)


def _spoken(tokens: list, at: int, words: dict) -> Number | None:
    whole, after = _whole(tokens, at, words)
    if whole is None:
        return None
    if _word(tokens, after) in words["points"]:
        return _with_point(str(whole), tokens, at, after, words)
    if _half(tokens, after):
        return Number(str(whole) + ".5", at, after + 3, True)
    return Number(str(whole), at, after, True)


def _with_point(whole: str, tokens: list, first: int, point: int, words: dict) -> Number:
    digits, after = _decimals(tokens, point + 1, words)
    spoken = tokens[first].kind != "number"
    if digits is None or _word(tokens, after) in words["points"]:
        return Number(None, first, max(after, point + 1), spoken)
    return Number(whole + "." + digits, first, after, spoken)


def _decimals(tokens: list, at: int, words: dict) -> tuple:
    """(digits or None where they are not plain, the place behind them) of what follows a point."""
    digits, place, plain = "", at, True
    while place < len(tokens):
        digit = _digit(tokens, place, words, place == at)
        if digit is None:
            break
        if place > at and _word(tokens, place + 1) in words["points"]:
            break
        digits += digit
        place += 1
    if place < len(tokens) and place == at:
        # "six point to", "six point twenty": something was said there, and it is no digit.
        word = _word(tokens, place)
        if word in words["sounds_like_a_number"] or _whole(tokens, place, words)[0] is not None:
            return None, place + 1
    if len(digits) > MOST_DECIMALS or not digits:
        plain = False
    return (digits if plain else None), place


def _digit(tokens: list, at: int, words: dict, is_first: bool) -> str | None:
    token = tokens[at]
    if token.kind == "number" and token.sure and "." not in token.word:
        return token.word if len(token.word) == 1 or is_first else None
    if token.kind != "word":
        return None
    if token.word in words["point_zero"]:
        return "0"
    value = words["numerals"].get(token.word)
    return DIGITS[value] if value is not None and value < 10 else None


def _half(tokens: list, at: int) -> bool:
    return [_word(tokens, at), _word(tokens, at + 1), _word(tokens, at + 2)] == ["and", "a", "half"]


def _whole(tokens: list, at: int, words: dict) -> tuple:
    """(whole number or None, the place behind it): up to 999, as "twenty one", "a hundred and four"."""
    word = _word(tokens, at)
    if word in words["point_zero"] and _word(tokens, at + 1) in words["points"]:
        return 0, at + 1
    if word == "a":
        if _word(tokens, at + 1) in words["hundred"]:
            return _behind_hundred(100, tokens, at + 2, words)
        return None, at
    value, after = _below_hundred(tokens, at, words)
    if value is not None and 0 < value < 10 and _word(tokens, after) in words["hundred"]:
        return _behind_hundred(value * 100, tokens, after + 1, words)
    return value, after


def _behind_hundred(hundreds: int, tokens: list, at: int, words: dict) -> tuple:
    start = at + 1 if _word(tokens, at) == "and" else at
    value, after = _below_hundred(tokens, start, words)
    if value:
        return hundreds + value, after
    return hundreds, at


def _below_hundred(tokens: list, at: int, words: dict) -> tuple:
    word = _word(tokens, at)
    if word in words["numerals"]:
        return words["numerals"][word], at + 1
    if word not in words["tens"]:
        return None, at
    value = words["numerals"].get(_word(tokens, at + 1), 0)
    if 0 < value < 10:
        return words["tens"][word] + value, at + 2
    return words["tens"][word], at + 1
