"""What one exam measured, as whoever looks over many exams sees it: one value a quantity, and why one tells no size."""

from typing import Any

from tests.core import support
from tests.core.entries import Writer


def measured(*entries: Any) -> Any:
    answer = support.call({"do": "measured", "exams": [list(entries)]})
    assert "error" not in answer, answer
    return answer["measured"][0]


def exam(*acts: tuple[str, Any]) -> Any:
    phone = Writer()
    return measured(phone.opened(), *[getattr(phone, name)(*given) for name, given in acts])


def test_a_mean_keeps_six_decimals_and_its_number_of_readings() -> None:
    length = "kidney.left.length"
    made = exam(("read", ("40", length)), ("read", ("41", length)), ("read", ("41", length)))["values"][length]
    assert made == {"value": "40.666667", "n": 3, "plane": "long_axis", "unused": None}


def test_a_gland_of_which_one_pole_was_not_read_tells_no_greatest_thickness() -> None:
    pole = "adrenal.left.caudal_pole_thickness"
    made = exam(("read", ("5.1", pole)))["values"]
    assert made[pole]["unused"] is None
    assert made["adrenal.left.maximum_thickness"]["unused"] == "at_least"


def test_a_value_that_nobody_believes_and_one_partly_seen_are_told_apart() -> None:
    phone, length = Writer(), "kidney.left.length"
    made = measured(phone.opened(), phone.read("400", length), phone.read("41", "kidney.right.length", view="partly"))
    assert made["values"][length]["unused"] == "not_believed"
    assert made["values"]["kidney.right.length"]["unused"] == "partly"
