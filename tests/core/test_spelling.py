"""British and American: the project's own words alone are turned, whole words, and every figure stays."""

import json
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core import support
from tests.core.entries import POLE, Writer
from webapp.core import engine, spelling

WORDS: dict[str, str] = support.table("spelling")["words"]
TEXTS = {name: support.table(name) for name in engine.NAMES}


def american() -> engine.Engine:
    return engine.Engine(engine.tables_of(TEXTS, None, "american"))


def call(made: engine.Engine, request: Any) -> Any:
    return json.loads(made.call(json.dumps(request)))


@pytest.mark.parametrize(
    ("british", "wanted"),
    [
        ("Caecum, 3 parts", "Cecum, 3 parts"),
        ("LEFT kidney: OEDEMA", "LEFT kidney: EDEMA"),
        ("ileocaecocolic junction", "ileocecocolic junction"),
        ("grey scale, greyscale; Greyhound", "gray scale, grayscale; Greyhound"),
        ("haem", "haem"),
        ("Colour tells them apart; tumour-like", "Color tells them apart; tumor-like"),
        ("l\u00e9tumour \u00fctumour", "l\u00e9tumour \u00fctumour"),
        ("", ""),
    ],
)
def test_whole_words_are_turned_and_capitals_kept(british: str, wanted: str) -> None:
    """Source of the pairs: the usage of the trade's British and American journals."""
    assert spelling.spelled(british, "american", WORDS) == wanted
    assert spelling.spelled(british, "british", WORDS) == british


@given(st.text())
def test_no_text_breaks_it_and_turning_twice_changes_nothing_more(text: str) -> None:
    once = spelling.spelled(text, "american", WORDS)
    assert spelling.spelled(once, "american", WORDS) == once
    assert re.findall("[0-9]", once) == re.findall("[0-9]", text)


def test_no_american_word_is_itself_a_british_one() -> None:
    assert set(WORDS) & set(WORDS.values()) == set()
    assert all(word == word.lower() and word.isascii() and word.isalpha() for pair in WORDS.items() for word in pair)


def test_ids_figures_citations_and_breeds_of_the_tables_stay() -> None:
    made = spelling.tables(TEXTS, "american")
    assert made["limits"]["sources"] == TEXTS["limits"]["sources"]
    for before, after in zip(TEXTS["limits"]["rows"], made["limits"]["rows"], strict=True):
        worded = ("population", "note", "statistic")
        assert {k: v for k, v in before.items() if k not in worded} == {
            k: v for k, v in after.items() if k not in worded
        }
    ids = [row["id"] for row in TEXTS["catalogue"]["structures"] + TEXTS["catalogue"]["quantities"]]
    assert ids == [row["id"] for row in made["catalogue"]["structures"] + made["catalogue"]["quantities"]]
    assert made["catalogue"]["not_seen_reasons"] == TEXTS["catalogue"]["not_seen_reasons"]
    assert made["descriptors"] == TEXTS["descriptors"]
    assert {name: support.table(name) for name in engine.NAMES} == TEXTS, "the given tables were changed"


def test_what_the_tables_say_turns() -> None:
    labels = {row["id"]: row["label"] for row in american().tables.catalogue.structures}
    assert labels["caecum"] == "Cecum"
    register = call(american(), {"do": "register"})["register"]
    told = " ".join(f"{row['quantity']} {row['note']} {row['population']} {row['animals']}" for row in register["rows"])
    left = {word for word in re.findall(r"[a-z]+", told.lower()) if word in WORDS}
    assert left == set()
    assert re.search(r"\b(tumor|color|gray|hemorrhage)", told)


def test_what_a_person_typed_is_never_turned() -> None:
    phone = Writer()
    entries = [
        phone.opened(breed="Grey Centre cross"),
        phone.read("6.2"),
        phone.write("noted", {"about": "liver", "text": "Tumour? Colour Doppler, oedema."}),
        phone.write("found", {"about": "spleen", "finding": "mass", "text": "grey centre"}),
        phone.seen("liver", "partly", why=["behaviour", "grey tumour in the way"]),
        phone.set("impression", "No tumour."),
    ]
    british = call(engine.Engine(engine.tables_of(TEXTS)), {"do": "open", "entries": entries})
    other = call(american(), {"do": "open", "entries": entries})
    assert other["exam"] == british["exam"]
    told = other["judgement"]["sentences"]
    assert "Tumour? Colour Doppler, oedema." in told["liver"] and "grey centre" in told["spleen"]


def test_the_verdicts_are_the_same_in_both() -> None:
    phone = Writer()
    entries = [phone.opened(), phone.read("6.2"), phone.read("6.4"), phone.seen("adrenal.right", "not_seen", why="gas")]
    answers = [call(made, {"do": "open", "entries": entries}) for made in (american(), engine.Engine(support.tables()))]
    for name in ("flags", "judged", "silent", "open"):
        turned, plain = [
            [(line["about"], line.get("kind"), line.get("grade"), line.get("value")) for line in one["judgement"][name]]
            for one in answers
        ]
        assert turned == plain
    assert answers[0]["limits_version"] == answers[1]["limits_version"]
    assert POLE in {line["quantity"] for line in answers[0]["judgement"]["values"]}


def test_an_unknown_spelling_is_refused() -> None:
    with pytest.raises(Exception, match="british, american"):
        engine.tables_of(TEXTS, None, "scots")
