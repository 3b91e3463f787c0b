"""What no phrase may do, whatever is said: a number nobody said, a side nobody named, a word lost, a "no" lost.

The numbers that were said are found here by regular expressions over the text, apart from the reader's own code.
"""

import json
import re
from decimal import Decimal
from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.core import support
from webapp import rules

VOCABULARY = rules.tables()["vocabulary"]
ENGINE = support.fresh_engine()
UNITS = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
TEENS = ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
VALUE_OF_SLIPS = {"fourty": 40}  # a spelling that the vocabulary knows
ZEROS = ("zero", "nought", "naught", "oh", "o")
VALUE = {word: number for number, word in enumerate(["zero", *UNITS, *TEENS])}
VALUE.update({word: 10 * number for number, word in enumerate(TENS, start=2)})
VALUE.update(VALUE_OF_SLIPS)
VALUE.update({"nought": 0, "naught": 0, "oh": 0, "o": 0})
UNIT, TEEN, TEN, ZERO = "|".join(UNITS), "|".join(TEENS), "|".join([*TENS, *VALUE_OF_SLIPS]), "|".join(ZEROS)
BELOW = rf"(?:(?:{TEN})(?: (?:{UNIT}))?|{TEEN}|{UNIT})"
WHOLE = rf"(?:(?:(?:{UNIT}|a) )?hundred(?:(?: and)? {BELOW})?|{BELOW}|{ZERO})"
DIGIT = rf"(?:{UNIT}|{ZERO}|\d+)"
SPOKEN = re.compile(
    rf"(?P<whole>{WHOLE}|\d+)?(?: ?(?:point|dot|decimal)(?P<part>(?: {DIGIT}\b)+))?(?P<half> and a half)?\b"
)


def ask(text: str, **more: Any) -> Any:
    answer = json.loads(ENGINE.call(json.dumps({"do": "phrase", "text": text, "species": "dog", **more})))
    assert "error" not in answer, answer
    return answer


def numbers_said(text: str) -> set[Decimal]:
    """Every number that the text holds, in words or in digits, at any place."""
    said = set()
    for run in re.findall(r"[0-9]*[.,]?[0-9]+", text):
        said.add(Decimal(run.replace(",", ".")))
    plain = re.sub(r"(?<=[0-9])(?=[a-z])", " ", re.sub(r"[^a-z0-9 ]+", " # ", text.lower()))
    plain = " ".join(plain.split())
    for start in [0, *(match.end() for match in re.finditer(" ", plain))]:
        found = SPOKEN.match(plain, start)
        if found is None or not found.group():
            continue
        parts = (found["part"] or "").split()
        for length in range(len(parts) + 1):
            digits = "".join(word if word.isdigit() else str(VALUE[word]) for word in parts[:length])
            said.add(Decimal(f"{whole_of(found['whole'] or 'zero')}.{digits or '0'}"))
        if found["half"]:
            said.add(whole_of(found["whole"] or "zero") + Decimal("0.5"))
    return said


def whole_of(words: str) -> Decimal:
    if words.isdigit():
        return Decimal(words)
    total = 0
    for word in words.split():
        if word == "hundred":
            total = 100 * max(total, 1)
        elif word not in ("a", "and"):
            total += VALUE[word]
    return Decimal(total)


def values_of(proposal: dict[str, Any]) -> list[Decimal]:
    return [Decimal(text) for name in ("values", "dimensions", "heard") for text in proposal.get(name) or []]


def where(proposal: dict[str, Any]) -> str:
    return f"{proposal.get('quantity')} {proposal.get('structure')} {proposal.get('part')}"


def sides_named(text: str) -> set[str]:
    words = set(re.findall(r"[a-z]+", text.lower()))
    both = bool(words & {"both", "bilateral", "bilaterally"})
    return {
        side
        for side, short in (
            ("left", {"left", "l", "la", "lk", "lu", "lt"}),
            ("right", {"right", "r", "ra", "rk", "ru", "rt"}),
        )
        if both or words & short
    }


def apart(text: str) -> str:
    """The text with the x of "5x6" standing alone."""
    return re.sub(r"(?<=[0-9])[xX](?![a-zA-Z])|(?<![a-zA-Z])[xX](?=[0-9])", " x ", text)


def words_of(text: str) -> list[str]:
    return re.findall(
        r"[^\s,;:.!?()\[\]{}\"~<>=+#*&|_\-\u2010-\u2014\u2212\u201c\u201d\u2026\u00d7\u00b1\u2248\u2264\u2265]+", text
    )


GRAMMAR_WORDS = {word.lower() for name in ("fillers", "and") for alias in VOCABULARY[name] for word in alias.split()}


def check(text: str, answer: Any, sticky_side: str | None = None) -> None:
    """All laws that hold for any text."""
    said = numbers_said(text)
    named = sides_named(text) | ({sticky_side} if sticky_side else set())
    kept = answer["left_over"]
    for proposal in answer["proposals"]:
        kept += " " + proposal["said"]
        for value in values_of(proposal):
            assert {value, value / 10, value / 100} & said, (text, proposal)
        for side in ("left", "right"):
            if re.search(rf"\b{side}(_lobe)?\b", where(proposal)):
                assert side in named, (text, proposal)
        assert proposal["asks"] == [name for name in ("structure", "side", "unit", "value") if name in proposal["asks"]]
        assert proposal["ask"] == (proposal["asks"] or [None])[0]
        if "?" in where(proposal):
            assert proposal["ask"] in ("structure", "side"), proposal
        if proposal["do"] == "normal" or proposal.get("normal"):
            assert re.search(r"normal|unremarkable|\bwnl\b|\bn\b|\bnad\b", text.lower()), (text, proposal)
    have = [word.lower() for word in words_of(apart(kept))]
    for word in words_of(apart(text)):
        if word.lower() not in GRAMMAR_WORDS:
            assert word.lower() in have, (text, word, answer)


def vocabulary_words() -> list[str]:
    """All aliases of the table, whatever they stand for."""
    found: list[str] = []

    def collect(node: Any) -> None:
        if isinstance(node, str):
            found.append(node)
        elif isinstance(node, list):
            for item in node:
                collect(item)
        elif isinstance(node, dict):
            for key, item in node.items():
                collect(item)
                if key in VOCABULARY["near"] or key in VOCABULARY["numerals"] or key in VOCABULARY["tens"]:
                    found.append(key)

    for name, node in VOCABULARY.items():
        if name not in ("version", "note", "quantities"):
            collect(node)
    return sorted(set(found) - {""})


ALIASES = vocabulary_words()
NUMERALS = [*VALUE, "hundred", "a hundred", "point", "dot", "and a half"]
DIGITS = st.from_regex(r"[0-9]{1,3}([.,][0-9]{1,3})?(mm|cm| mm| cm|x[0-9]|-[0-9]|%)?", fullmatch=True)
WORD = st.one_of(
    st.sampled_from(ALIASES),
    st.sampled_from(NUMERALS),
    DIGITS,
    st.sampled_from([",", ".", ";", "?", "-", "by", "to"]),
    st.sampled_from(
        [
            "the",
            "dog",
            "was",
            "calm",
            "owner",
            "says",
            "vein",
            "artery",
            "nice",
            "polyp",
            "old",
            "tail",
            "wags",
            "won",
            "ate",
        ]
    ),
)
PHRASES = st.lists(WORD, max_size=14).map(" ".join)


@settings(max_examples=1500, deadline=None)
@example("left kidney twenty one point two five three mm")
@example("a hundred and a half mm left kidney")
@given(PHRASES)
def test_words_of_the_vocabulary_in_any_order_keep_every_law(text: str) -> None:
    check(text, ask(text))


@settings(max_examples=500, deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_answered_and_kept(text: str) -> None:
    answer = ask(text)
    check(text, answer)
    if not answer["proposals"]:
        assert answer["left_over"].split() == text.split() or not text.strip()


PLACES = [
    ("adrenal.left.caudal_pole_thickness", "left adrenal caudal pole"),
    ("kidney.right.length", "right kidney"),
    ("kidney.left.pelvis_width", "left renal pelvis"),
    ("jejunum.wall_thickness", "jejunum"),
    ("aorta.diameter", "aorta"),
    ("spleen.thickness", "spleen"),
    ("bladder.wall_thickness", "bladder wall"),
    ("node.medial_iliac.left.thickness", "left medial iliac node"),
    ("pancreas.left_lobe.thickness", "left pancreas lobe"),
]


def spoken(number: str) -> str:
    """A decimal text in words, digit by digit behind the point."""
    whole, _, part = number.partition(".")
    left = int(whole)
    words = []
    if left >= 100:
        words += [UNITS[left // 100 - 1], "hundred"]
        left %= 100
        words += ["and"] if left else []
    if left >= 20:
        words.append(TENS[left // 10 - 2])
        left %= 10
        words += [UNITS[left - 1]] if left else []
    elif left or whole == "0" or not words:
        words.append(["zero", *UNITS, *TEENS][left])
    return " ".join(words + (["point", *(["zero", *UNITS][int(digit)] for digit in part)] if part else []))


NUMBERS = st.builds(
    lambda whole, part: f"{whole}.{part}" if part else str(whole),
    st.integers(0, 139),
    st.one_of(st.just(""), st.from_regex("[0-9]{1,2}", fullmatch=True)),
)


@settings(max_examples=400, deadline=None)
@given(st.sampled_from(PLACES), st.lists(NUMBERS, min_size=1, max_size=3), st.sampled_from(["mm", "cm"]), st.booleans())
def test_what_was_said_comes_out_to_the_digit(
    place: tuple[str, str], numbers: list[str], unit: str, aloud: bool
) -> None:
    """Also where the value is asked about: the number in the question is the one that was said."""
    words = {"mm": "millimetres", "cm": "centimetres"}[unit] if aloud else unit
    text = f"{place[1]} {', '.join(spoken(one) if aloud else one for one in numbers)} {words}"
    answer = ask(text)
    assert [one["quantity"] for one in answer["proposals"]] == [place[0]], text
    factor = 1 if unit == "mm" else 10
    assert [Decimal(one) for one in answer["proposals"][0]["values"]] == [Decimal(one) * factor for one in numbers]
    assert set(answer["proposals"][0]["asks"]) <= {"value"}
    assert answer["left_over"] == ""


FINDINGS = ["mass", "nodule", "cyst", "stone", "enlarged", "dilated", "thickened", "sediment", "free gas"]


@settings(max_examples=300, deadline=None)
@given(
    st.sampled_from(["no", "not", "without", "no evidence of", "never", "isn't", "no sign of a", "possible", "maybe"]),
    st.sampled_from(FINDINGS),
    st.sampled_from(["spleen", "left kidney", "liver", "bladder"]),
    st.booleans(),
    st.sampled_from(["", " 8 mm", " seen", " and nothing else"]),
)
def test_what_was_denied_or_doubted_is_never_a_finding(
    no: str, finding: str, place: str, first: bool, tail: str
) -> None:
    text = f"{place} {no} {finding}{tail}" if first else f"{no} {finding} in the {place}{tail}"
    answer = ask(text)
    assert [one for one in answer["proposals"] if one["do"] in ("finding", "normal")] == [], text


@settings(max_examples=200, deadline=None)
@given(
    st.sampled_from(["no", "no evidence of", "without", "not", "possible"]),
    st.lists(st.sampled_from(FINDINGS), min_size=2, max_size=4),
    st.sampled_from([", ", " or ", " and ", ", or "]),
    st.sampled_from([" in the liver", "", " seen", " of the spleen"]),
)
def test_a_no_holds_for_the_whole_list_behind_it(no: str, findings: list[str], join: str, tail: str) -> None:
    for text in (f"{no} {join.join(findings)}{tail}", f"spleen {no} {join.join(findings)}"):
        assert [one for one in ask(text)["proposals"] if one["do"] == "finding"] == [], text


NOT_QUITE = [
    "except a nodule",
    "but bright",
    "apart from a cyst",
    "although small",
    "in size",
    "today but dark",
    "with a mass",
    "nodule 8 mm",
    "otherwise",
    "?",
    "maybe",
    "shape",
    "echogenicity",
    "however enlarged",
]


@settings(max_examples=200, deadline=None)
@given(
    st.sampled_from(["liver", "spleen", "left kidney", "liver, spleen and stomach"]),
    st.sampled_from(NOT_QUITE),
    st.sampled_from(["normal", "unremarkable", "within normal limits", "is normal"]),
    st.sampled_from([" ", ", "]),
)
def test_normal_with_more_to_it_is_no_normal(place: str, rest: str, normal: str, gap: str) -> None:
    told = ask(f"{place} {normal}{gap}{rest}")["proposals"]
    named = place.replace(" and", ",").split(", ")[-1].replace("left kidney", "kidney.left")
    if gap == ", " and rest in ("in size", "shape", "echogenicity", "maybe", "otherwise"):
        return  # behind a comma these words begin something new
    assert [one for one in told if one["do"] == "normal" and one["structure"] == named] == []


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(["left", "right"]), PHRASES)
def test_a_sticky_side_is_the_only_one_that_need_not_be_named(side: str, text: str) -> None:
    sticky = {
        "structure": f"adrenal.{side}",
        "part": "caudal_pole",
        "quantity": f"adrenal.{side}.caudal_pole_thickness",
        "age_s": 10,
    }
    check(text, ask(text, sticky=sticky), side)


def test_the_check_itself_can_fail() -> None:
    """A law that holds for anything shows nothing."""
    wrong = {
        "left_over": "",
        "sticky": None,
        "proposals": [
            {
                "do": "read",
                "quantity": "kidney.left.length",
                "values": ["16"],
                "said": "kidney four by twelve",
                "asks": [],
                "ask": None,
            }
        ],
    }
    for text in ("kidney four by twelve", "left kidney four by twelve", "left kidney sixteen liver"):
        try:
            check(text, wrong)
        except AssertionError:
            continue
        raise RuntimeError(f"not seen: {text}")
