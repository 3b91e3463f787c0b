"""Measuring twice: pairs of readings that teach a person's own spread and are never judged as an animal's."""

import json
import math
from fractions import Fraction
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


# Peak expiratory flow of 17 people, two readings by each of two meters, l/min: Bland and Altman, Lancet 1986;i:307.
WRIGHT = [
    (494, 490), (395, 397), (516, 512), (434, 401), (476, 470), (557, 611), (413, 415), (442, 431), (650, 638),
    (433, 429), (417, 420), (656, 633), (267, 275), (478, 492), (178, 165), (423, 372), (427, 421),
]  # fmt: skip
MINI = [
    (512, 525), (430, 415), (520, 508), (428, 444), (500, 500), (600, 625), (364, 460), (380, 390), (658, 642),
    (445, 432), (432, 420), (626, 605), (260, 227), (477, 467), (259, 268), (350, 370), (451, 443),
]  # fmt: skip


@pytest.mark.parametrize(("meter", "within", "repeatability"), [(WRIGHT, "15.31", "42.4"), (MINI, "19.91", "55.2")])
def test_pairs_of_two_flow_meters(meter: list[tuple[int, int]], within: str, repeatability: str) -> None:
    """Source: Bland and Altman, Lancet 1986;i:307-310: within-subject SD 15.3 and 19.9, repeatability 42.4 and 55.2."""
    pairs = [tuple(f"{flow // 10}.{flow % 10}" for flow in pair) for pair in meter]
    row = learn(twice(pairs, "kidney.left.length")[1])["kidney.*.length"]["pooled"]
    assert (row["df"], row["groups"]) == (17, 17)
    assert f"{float(row['sd']) * 10:.2f}" == within
    assert f"{float(row['repeatability']) * 10:.1f}" == repeatability


@pytest.mark.parametrize(
    ("analytical", "within_animal", "wanted"),
    [("3", "6", 18.59), ("2.2", "4.5", 13.88), ("10", "0", 27.72)],
)
def test_the_repeatability_coefficient_is_the_reference_change(
    analytical: str, within_animal: str, wanted: float
) -> None:
    """Source: Fraser, reference change value sqrt 2 x 1.96 x sqrt(CVa squared + CVi squared), two-sided 95 percent."""
    spread = math.hypot(float(analytical), float(within_animal))
    half = f"{spread / math.sqrt(2) + 100:.4f}"
    other = f"{100 - spread / math.sqrt(2):.4f}"
    row = learn(twice([(half, other)] * 25, "kidney.left.length")[1])["kidney.*.length"]["pooled"]
    assert float(row["sd"]) == pytest.approx(spread, abs=2e-4)
    assert float(row["repeatability"]) == pytest.approx(wanted, abs=6e-3)


def test_standard_error_of_measurement_from_five_pairs() -> None:
    """Source: five printed SDs 5.7, 4.2, 5.7, 2.8, 2.1: root mean square 4.356, smallest detectable change 12.07."""
    apart = [Fraction(sd) * 1414214 / 1000000 for sd in ("5.7", "4.2", "5.7", "2.8", "2.1")]
    pairs = [("50", f"{float(50 + gap):.6f}") for gap in apart]
    row = learn(twice(pairs, "kidney.left.length")[1])["kidney.*.length"]["pooled"]
    assert float(row["sd"]) == pytest.approx(4.356, abs=1e-3)
    assert float(row["repeatability"]) == pytest.approx(12.07, abs=6e-3)
