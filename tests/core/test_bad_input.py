"""Whatever comes in, `assess` answers a judgement or one sentence: it never raises, and never guesses."""

import copy
import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.core import support

LENGTH = "adrenal.left.length"
DOG = support.dog()
READING = support.reading(LENGTH, "20")
UNREADABLE = {
    "no animal": {"readings": [READING]},
    "no species": {"patient": {"weight_kg": "9"}},
    "another species": {"patient": {"species": "ferret"}},
    "a case that is a list": [],
    "a case that is null": None,
    "an exam that is text": {"patient": DOG, "exam": "2026-11-24"},
    "unknown quantity": {"patient": DOG, "readings": [support.reading("adrenal.left.girth", "6")]},
    "a quantity that is a list": {"patient": DOG, "readings": [{"quantity": [LENGTH], "values": ["6"]}]},
    "unknown structure": {"patient": DOG, "structures": [{"structure": "gland", "seen": "whole"}]},
    "unknown part": {"patient": DOG, "structures": [{"structure": "spleen", "part": "pole", "seen": "whole"}]},
    "a part that is a number": {"patient": DOG, "structures": [{"structure": "liver", "part": 3, "seen": "whole"}]},
    "unknown state": {"patient": DOG, "structures": [{"structure": "spleen", "seen": "glimpsed"}]},
    "unknown structure asked about": {"patient": DOG, "asked": ["gland"]},
    "asked that is no list": {"patient": DOG, "asked": "spleen"},
    "unknown finding": {"patient": DOG, "findings": [{"structure": "peritoneum", "finding": "fre_gas"}]},
    "a finding without a name": {"patient": DOG, "findings": [{"structure": "spleen"}]},
    "a vessel that is text": {"patient": DOG, "findings": [{"structure": "spleen", "finding": "mass", "vessel": "v"}]},
    "dimensions that are text": {
        "patient": DOG,
        "findings": [{"structure": "spleen", "finding": "mass", "dimensions": "38"}],
    },
    "a dimension below zero": {
        "patient": DOG,
        "findings": [{"structure": "spleen", "finding": "mass", "dimensions": ["-3"]}],
    },
    "no values": {"patient": DOG, "readings": [{"quantity": LENGTH, "values": []}]},
    "values that are missing": {"patient": DOG, "readings": [{"quantity": LENGTH}]},
    "a unit of another dimension": {"patient": DOG, "readings": [support.reading(LENGTH, "6", unit="kg")]},
    "an unknown unit": {"patient": DOG, "readings": [support.reading(LENGTH, "6", unit="inch")]},
    "a unit that is a list": {"patient": DOG, "readings": [{"quantity": LENGTH, "values": ["6"], "unit": ["mm"]}]},
    "view that is no view": {"patient": DOG, "readings": [support.reading(LENGTH, "6", view="half")]},
    "unknown sign": {"patient": DOG, "context": {"signs": ["cushings"]}},
    "signs that are text": {"patient": DOG, "context": {"signs": "vomiting"}},
    "weight that is a word": {"patient": support.dog("heavy")},
    "weight below zero": {"patient": support.dog("-9")},
    "age that is a word": {"patient": support.dog(age_months="old")},
    "age below zero": {"patient": support.dog(age_months=-3)},
    "earlier that is no list": {"patient": DOG, "earlier": {"readings": []}},
    "an earlier exam that cannot be read": {"patient": DOG, "earlier": [{"readings": [{"quantity": "x"}]}]},
}
NO_NUMBERS = [
    "",
    " ",
    "NaN",
    "nan",
    "Infinity",
    "-1",
    "-0.1",
    "6,2,1",
    "6..2",
    "abc",
    "1e3",
    "0x10",
    "6 2",
    "+6",
    "٦",
    "６",
    "9" * 5000,
    "0." + "1" * 5000,
    True,
    False,
    None,
    [],
    {},
    ["6"],
]


def sentence(answer: Any) -> str:
    message = answer["error"]["message"]
    assert isinstance(message, str) and message.strip() and "\n" not in message
    assert "Traceback" not in message and "Error" not in message
    return message


@pytest.mark.parametrize("name", UNREADABLE)
def test_what_cannot_be_read_gets_one_sentence(name: str) -> None:
    """Source: the contract, "bad input prints a one-line reason"."""
    sentence(support.assess(UNREADABLE[name]))


@pytest.mark.parametrize("value", NO_NUMBERS, ids=lambda value: repr(value)[:20])
def test_what_is_no_number_is_refused_as_a_reading(value: Any) -> None:
    sentence(support.assess({"patient": DOG, "readings": [{"quantity": LENGTH, "values": [value], "unit": "mm"}]}))


@pytest.mark.parametrize("value", [value for value in NO_NUMBERS if value is not None], ids=lambda v: repr(v)[:20])
def test_what_is_no_number_is_refused_as_a_weight(value: Any) -> None:
    sentence(support.assess({"patient": {"species": "dog", "weight_kg": value}}))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "no json",
        "[]",
        "null",
        "7",
        '"x"',
        "{}",
        '{"do": "guess"}',
        '{"do": ["open"]}',
        '{"do": "assess"}',
        '{"do": "open"}',
        '{"do": "open", "entries": 5}',
        '{"do": "open", "entries": [5]}',
        '{"do": "open", "entries": [{}]}',
        '{"do": "apply", "entries": []}',
        '{"do": "typed"}',
        '{"do": "typed", "text": 5}',
        '{"do": "typed", "text": "6", "quantity": ["x"]}',
        '{"do": "typed", "text": "6", "unit": 5}',
    ],
)
def test_a_call_that_is_none_gets_an_answer(text: str) -> None:
    answer = json.loads(support.fresh_engine().call(text))
    assert "error" in answer or "exam" in answer


@pytest.mark.parametrize("number", ["6.4", "6.40", "06.4", " 6.4 "])
def test_the_same_number_written_otherwise_is_the_same_number(number: str) -> None:
    judged = support.judge(DOG, support.reading("adrenal.left.maximum_thickness", number))
    assert [value["value"] for value in judged["values"] if not value["derived"]] == ["6.4"]


def test_whole_numbers_may_stand_without_quotes() -> None:
    """Source: the contract, "numbers as decimal strings or numbers"."""
    quoted = support.judge(
        {"species": "dog", "weight_kg": "7", "age_months": "84", "body_condition": "5"},
        support.reading("adrenal.left.maximum_thickness", "6", "7"),
    )
    bare = support.assess(
        {
            "patient": {"species": "dog", "weight_kg": 7, "age_months": 84, "body_condition": 5},
            "readings": [{"quantity": "adrenal.left.maximum_thickness", "values": [6, 7]}],
        }
    )
    assert quoted == bare


def test_all_but_the_species_may_be_missing_or_null() -> None:
    """Source: the contract, "all but patient.species optional"."""
    empty = support.assess({"patient": {"species": "cat"}})
    names = ("exam", "context", "asked", "readings", "structures", "findings", "earlier")
    nulls = support.assess(
        {
            "patient": {
                "species": "cat",
                "weight_kg": None,
                "age_months": None,
                "breed": None,
                "sex": None,
                "neutered": None,
                "ideal_weight_kg": None,
                "body_condition": None,
            }
        }
        | dict.fromkeys(names)
    )
    assert "error" not in empty and empty == nulls


def test_a_misspelt_field_is_named_and_not_passed_over() -> None:
    judged = support.judge(DOG, support.reading(LENGTH, "20", veiw="partly"))
    assert "veiw" in json.dumps(judged.get("unread_fields"))


CATALOGUE = support.table("catalogue")
JUNK = st.recursive(
    st.none() | st.booleans() | st.integers(-9, 10**20) | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=2) | st.dictionaries(st.sampled_from(["id", "state", "a"]), inner, max_size=2)
    ),
    max_leaves=3,
)


def some(**fields: Any) -> st.SearchStrategy[Any]:
    """An object of which every field may be missing; a list of choices stands for one of them."""
    return st.fixed_dictionaries({}, optional={name: _one(usual) for name, usual in fields.items()})


def _one(usual: Any) -> st.SearchStrategy[Any]:
    return st.sampled_from(usual) if isinstance(usual, list) else usual


@st.composite
def readings(draw: Any) -> Any:
    """A reading of any quantity, near the values that limits are about."""
    quantity = draw(st.sampled_from(CATALOGUE["quantities"] + 12 * CATALOGUE["quantities"][:4]))
    values = draw(
        st.lists(st.integers(1, 170).map(lambda tenths: f"{tenths // 10}.{tenths % 10}"), min_size=1, max_size=3)
    )
    told = draw(
        some(
            plane=["long_axis", "short_axis", "dorsal"],
            view=["whole", "partly"],
            cut=["true_long", "oblique"],
            acquired=["new_image", "same_frame"],
            lesion=["1", "liver#1"],
        )
    )
    return {"quantity": quantity["id"], "values": values, "unit": quantity["unit"]} | told


@st.composite
def states(draw: Any) -> Any:
    structure = draw(st.sampled_from(CATALOGUE["structures"]))
    part = draw(st.sampled_from([None] + [part["id"] for part in structure["parts"]]))
    seen = draw(st.sampled_from(["whole", "partly", "not_seen", "not_examined", "not_visible_expected", "removed"]))
    return {"structure": structure["id"], "part": part, "seen": seen, "why": "gas"}


FINDINGS = some(
    shape=["mass, poles not separable"],
    unit=["mm", "cm"],
    dimensions=st.lists(st.integers(1, 90).map(str), max_size=3),
    vessel=some(id=["vena_cava", "aorta"], state=["material, attached", "clear"]),
)
FINDING = st.builds(
    lambda rest, structure, name: rest | {"structure": structure, "finding": name},
    FINDINGS,
    st.sampled_from([row["id"] for row in CATALOGUE["structures"]]),
    st.sampled_from(["mass", "nodule", "material", "fluid", "free_gas", "no_flow"]),
)
PATIENT = st.builds(
    lambda rest, species: rest | {"species": species},
    some(
        breed=["Labrador Retriever", "Beagle"],
        sex=["male", "female"],
        neutered=st.booleans(),
        age_months=st.integers(0, 240),
        weight_kg=st.integers(1, 60).map(str),
        ideal_weight_kg=st.integers(1, 40).map(str),
        body_condition=st.integers(1, 9),
    ),
    st.sampled_from(["dog", "cat"]),
)
READINGS = st.lists(readings(), max_size=5)
CASE = st.builds(
    lambda rest, patient: rest | {"patient": patient},
    some(
        readings=READINGS,
        structures=st.lists(states(), max_size=3),
        findings=st.lists(FINDING, max_size=2),
        context=some(
            signs=[["vomiting"], ["hypoadrenocorticism_suspected"], []],
            fasted=st.booleans(),
            bladder_filling=["full", "mild"],
        ),
        asked=[["adrenal.left"], ["spleen"]],
        earlier=st.lists(some(exam=some(date=["2026-05-01", "2025-01-01"]), readings=READINGS), max_size=2),
    ),
    PATIENT,
)


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(CASE)
def test_any_case_of_known_words_is_judged(case: Any) -> None:
    answer = support.assess(case)
    assert "error" not in answer, answer
    assert {"limits_version", "flags", "open", "silent", "values"} <= set(answer)
    for flag in answer["flags"]:
        assert flag["grade"] and flag["kind"] and flag["text"]
        assert flag["probability"] is None or 0 <= flag["probability"] <= 1


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(CASE, JUNK, st.randoms(use_true_random=False))
def test_one_field_that_is_anything_at_all_is_judged_or_refused(case: Any, junk: Any, chance: Any) -> None:
    case = copy.deepcopy(case)
    place, key = chance.choice(list(places(case)))
    place[key] = junk
    answer = support.assess(case)
    if "error" in answer:
        sentence(answer)


def places(thing: Any) -> Any:
    """Every place in a case whose content can be replaced: (object or list, key)."""
    for key in list(thing) if isinstance(thing, dict) else range(len(thing)):
        yield thing, key
        if isinstance(thing[key], dict | list):
            yield from places(thing[key])


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(JUNK)
def test_anything_at_all_as_a_case_is_refused_in_one_sentence(case: Any) -> None:
    sentence(support.assess(case))
