"""Reference intervals, outliers and measured exams are the same in the phone's Python and the server's."""

import random

from tests.core.entries import Writer
from tests.core_parity.test_two_engines import compare


def test_values_of_healthy_animals_say_the_same() -> None:
    chance = random.Random(120)
    asked = []
    for count in (0, 1, 3, 19, 20, 40, 120, 151):
        values = [f"{chance.gauss(40, 4):.1f}" for _ in range(count)]
        asked.append({"do": "reference", "values": values, "bounds": ["33", "46.5"]})
    answers = compare(asked)
    assert answers[-1]["interval"] and answers[4]["verified"]["answer"] != "too_few"
    assert any(answer["outliers"] and answer["outliers"]["tukey"] for answer in answers)


def test_what_exams_measured_is_the_same() -> None:
    phone = Writer()
    entries = [phone.opened(), *[phone.read(value, "kidney.left.length") for value in ("40", "41", "41.5")]]
    entries += [phone.read("5.1"), phone.read("6.3", "adrenal.left.cranial_pole_thickness")]
    (answer,) = compare([{"do": "measured", "exams": [entries, []]}])
    first, nothing = answer["measured"]
    assert first["values"]["adrenal.left.maximum_thickness"]["value"] == "6.300000"
    assert nothing["values"] == {}
