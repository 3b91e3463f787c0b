"""The key to the words of probability is printed where the vet used one of the six, and only there."""

import pytest

from tests.report import samples
from tests.report.test_content import made, section
from webapp.report.case import Json


def cautions(impression: str, facts: Json | None = None) -> str:
    report = made(samples.exam(fields={"impression": impression}), samples.judgement(), facts)
    return section(report, "cautions")


@pytest.mark.parametrize("words", ["Large glands probable.", "A clot is unlikely.", "Stones: ABSENT", "(certain)"])
def test_a_word_used_brings_the_key_with_its_source(words: str) -> None:
    """Source: Br J Radiol 2000;73:999-1001: of the expressions, six were rated consistently."""
    told = cautions(words)
    assert "from no to yes: absent, excluded, unlikely, probable, certain, definite" in told
    assert "Br J Radiol 73:999-1001" in told and "no percentages" in told
    assert "percent" not in told.replace("percentages", "")


@pytest.mark.parametrize("words", ["", "Thick glands.", "Improbable, uncertain, definitely.", "unlike ly"])
def test_without_one_of_the_six_there_is_no_key(words: str) -> None:
    assert "Words of probability" not in cautions(words)


def test_only_the_words_used_are_named_as_used() -> None:
    told = cautions("Probable mass; a clot is unlikely, and unlikely it stays.")
    assert "used here: \u201cunlikely\u201d and \u201cprobable\u201d." in told


def test_a_word_in_an_addendum_counts() -> None:
    row = {"status": "appended", "reason": "x", "text": "A stone is definite.", "at": samples.ISSUED, "by": "IF"}
    assert "\u201cdefinite\u201d" in cautions("Thick.", samples.meta(status="appended", version=2, amendments=[row]))
