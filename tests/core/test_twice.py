"""Measuring twice: pairs of readings that teach a person's own spread and are never judged as an animal's."""

import json
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.core import support
from tests.core.entries import POLE, Entry, Writer

PAIRS = [("6.2", "6.5"), ("5.1", "5.0"), ("8.8", "8.1")]


def twice(pairs: Any, quantity: str = POLE, patient: Any = None) -> tuple[Writer, list[Entry]]:
    """One person's measuring twice, as the phone writes it."""
    phone = Writer()
    opened = {"about": "exam", "date": "2026-11-24", "purpose": "measure_twice", "patient": patient or {}}
    entries = [phone.write("opened", opened)]
    for number, values in enumerate(pairs, 1):
        entries += [phone.read(value, quantity, acquired="new_image", pair=number) for value in values]
    return phone, entries


def learn(*exams: list[Entry]) -> Any:
    return support.call({"do": "learn", "exams": list(exams)})["learned"]


def test_each_pair_is_a_group_of_its_own() -> None:
    """Source: Bland and Altman, BMJ 1996;313:744: of pairs, s_w squared = the mean of the squared differences over 2;
    the repeatability coefficient 1.96 x sqrt 2 x s_w with the normal point of scipy."""
    row = learn(twice(PAIRS)[1])["adrenal.*.caudal_pole_thickness"]["observers"]["VS"]
    apart = np.array([float(a) - float(b) for a, b in PAIRS])
    spread = math.sqrt((apart**2).sum() / (2 * len(PAIRS)))
    assert (row["df"], row["groups"]) == (3, 3)
    assert float(row["sd"]) == pytest.approx(spread, abs=6e-5)
    assert float(row["repeatability"]) == pytest.approx(stats.norm.ppf(0.975) * math.sqrt(2) * spread, abs=2e-4)
    assert row["words"] == "not enough readings yet: 3 of 20"


def test_a_pair_without_its_second_reading_or_with_a_struck_one_teaches_nothing() -> None:
    phone, entries = twice([("6.2",), ("5.0", "5.4")])
    assert learn([*entries, phone.struck(entries[-1]["id"])]) == {}


def test_in_an_animals_exam_a_pair_number_changes_nothing() -> None:
    phone = Writer()
    plain = [phone.opened(), phone.read("6.2"), phone.read("6.5")]
    phone = Writer()
    numbered = [phone.opened(), phone.read("6.2", pair=1), phone.read("6.5", pair=2)]
    assert learn(plain) == learn(numbered) != {}


@given(st.lists(st.tuples(st.sampled_from(["2.1", "6.2", "14"]), st.sampled_from(["2.0", "7.9", "30"])), max_size=3))
def test_nothing_is_judged_of_a_measuring_twice(pairs: list[tuple[str, str]]) -> None:
    """Not even readings far beyond every limit, nor with an animal's facts beside them."""
    phone, entries = twice(pairs, patient={"species": "dog", "weight_kg": "9", "age_months": 100})
    entries.append(phone.write("found", {"about": "vena_cava", "finding": "material"}))
    answer = support.call({"do": "open", "entries": entries})
    judged = answer["judgement"]
    assert answer["exam"]["purpose"] == "measure_twice"
    assert {name for name, made in judged.items() if made} == {"limits_version"}


def test_it_is_no_earlier_exam_of_an_animal() -> None:
    now = Writer()
    entries = [now.opened(), now.read("6.2")]
    answer = support.call({"do": "open", "entries": entries, "earlier": [{"entries": twice(PAIRS)[1]}]})
    assert answer["earlier"] == []


def test_reading_by_reading_gives_what_the_whole_gives() -> None:
    _, entries = twice(PAIRS)
    engine = support.fresh_engine()
    engine.call(json.dumps({"do": "open", "as": "units", "entries": entries[:1]}))
    for entry in entries[1:]:
        delta = json.loads(engine.call(json.dumps({"do": "apply", "as": "units", "entries": [entry]})))["delta"]
        assert not any(unit["flags"] or unit["open"] or unit["values"] for unit in delta["units"].values())
