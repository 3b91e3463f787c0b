"""What was said or typed, cut into words, numbers and marks; every token knows its place in the text.

Nothing is dropped: white space apart, each character belongs to one token. Only ASCII letters are folded to
small ones, so that both Pythons cut every text alike.
"""

SPACES = " \t\n\r\f\v\u00a0\u2007\u2009\u202f\u3000"
DIGITS = "0123456789"
MARKS = ',;:.!?()[]{}"\u201c\u201d\u2026~<>\u2248\u2264\u2265\u00b1=\u2013\u2014\u2212+#*\u00d7&|_'
HYPHENS = "-\u2010\u2011"
APOSTROPHES = "'\u2019\u2018"
FRACTIONS = "\u00bc\u00bd\u00be\u2153\u2154"
_CAPITALS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_SMALL = "abcdefghijklmnopqrstuvwxyz"


class Token:
    """kind "word", "number", "odd" (digits that are no plain number) or "mark"; `word` is what is compared.

    A number's `word` has a point for its comma; `sure` says whether its form can be read in one way only.
    """

    def __init__(self, kind: str, start: int, end: int, word: str, sure: bool = True) -> None:
        self.kind = kind
        self.start = start
        self.end = end
        self.word = word
        self.sure = sure


def cut(text: str, suffixes: list) -> list:
    """The tokens of a text, in order; `suffixes` are the units that may follow a number without a space."""
    tokens = []
    place = 0
    while place < len(text):
        if text[place] in SPACES:
            place += 1
        elif _number_begins(text, place):
            place = _number(text, place, suffixes, tokens)
        elif text[place] in MARKS or text[place] in HYPHENS:
            tokens.append(Token("mark", place, place + 1, "-" if text[place] in HYPHENS else text[place]))
            place += 1
        elif text[place] in FRACTIONS:
            tokens.append(Token("odd", place, place + 1, text[place]))
            place += 1
        else:
            end = place + 1 if _is_cross(text, place, tokens) else _word_end(text, place)
            tokens.append(Token("word", place, end, small(text[place:end])))
            place = end
    return tokens


def small(text: str) -> str:
    """The text with ASCII capitals made small and one kind of apostrophe."""
    result = []
    for sign in text:
        if sign in APOSTROPHES:
            result.append("'")
            continue
        at = _CAPITALS.find(sign)
        result.append(_SMALL[at] if at >= 0 else sign)
    return "".join(result)


def _number_begins(text: str, place: int) -> bool:
    if text[place] in DIGITS:
        return True
    follows = text[place + 1 : place + 2]
    if text[place] != "." or not follows or follows not in DIGITS:
        return False
    return place == 0 or text[place - 1] not in DIGITS + "."


def _is_cross(text: str, place: int, tokens: list) -> bool:
    """The x of "38.5x29.4": right between two numbers."""
    follows = text[place + 1 : place + 2]
    before = tokens[-1] if tokens else None
    touches = before is not None and before.kind == "number" and before.end == place
    return text[place] in "xX" and touches and bool(follows) and follows in DIGITS


def _word_end(text: str, place: int) -> int:
    """Where the word ends: at white space, a mark or a hyphen; a slash and an apostrophe may stand inside."""
    end = place + 1
    while end < len(text):
        sign = text[end]
        if sign in SPACES or sign in MARKS or sign in HYPHENS or sign in FRACTIONS:
            break
        end += 1
    while end > place + 1 and text[end - 1] in APOSTROPHES + "/":
        end -= 1
    return end


def _number(text: str, place: int, suffixes: list, tokens: list) -> int:
    """Adds the tokens of what begins with a digit; gives where it ends."""
    end = place
    while end < len(text) and _goes_on(text, end):
        end += 1
    tail = end
    while tail < len(text) and _is_letter(text[tail]):
        tail += 1
    suffix = small(text[end:tail])
    if suffix and suffix not in suffixes:
        # "2nd", "1e3", "4d": no size.
        tail = _word_end(text, tail - 1)
        tokens.append(Token("odd", place, tail, small(text[place:tail])))
        return tail
    run = text[place:end]
    if "/" in run or ":" in run:
        tokens.append(Token("odd", place, end, run))
    else:
        _pieces(run, place, tokens)
    return end


def _goes_on(text: str, end: int) -> bool:
    """Whether the run of a number holds the sign at `end`: a digit, or a separator with a digit behind it."""
    if text[end] in DIGITS:
        return True
    follows = text[end + 1 : end + 2]
    return text[end] in ".,/:" and bool(follows) and follows in DIGITS


def _is_letter(sign: str) -> bool:
    return sign in _CAPITALS or sign in _SMALL or sign in "/%"


def _pieces(run: str, place: int, tokens: list) -> None:
    """One number, or several that a comma parts ("3.5,3.4"), or something with too many points."""
    pieces = run.split(",")
    if len(pieces) > 1 and all([piece.count(".") == 1 for piece in pieces]):
        for number, piece in enumerate(pieces):
            if number:
                tokens.append(Token("mark", place, place + 1, ","))
                place += 1
            tokens.append(_plain(piece, place))
            place += len(piece)
        return
    if run.count(".") + run.count(",") > 1:
        tokens.append(Token("odd", place, place + len(run), run))
        return
    tokens.append(_plain(run, place))


def _plain(run: str, place: int) -> Token:
    """A number with at most one point or comma. "42,43", "1,200", ".6" and "007" can be read in two ways."""
    end = place + len(run)
    whole, _, part = run.replace(",", ".").partition(".")
    if len(whole) > 3:
        return Token("odd", place, end, run)
    sure = bool(whole) and len(part) <= 2 and not (len(whole) > 1 and whole[0] == "0")
    if "," in run and len(whole) > 1 and len(part) > 1:
        sure = False
    text = (whole or "0") + ("." + part if part else "")
    while len(text) > 1 and text[0] == "0" and text[1] in DIGITS:
        text = text[1:]
    return Token("number", place, end, text, sure)
