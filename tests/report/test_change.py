"""What the report says of change since the earlier exam."""

from tests.report import samples
from tests.report.test_content import made, rows, section
from webapp.report import change


def test_moved_weight_class_is_explained_with_both_weights() -> None:
    said = section(made(*samples.of_demo("DP07")), "change")
    assert "LEFT adrenal, greatest thickness: the weight class moved" in said
    for words in ("9.7 kg", "5.5 mm", "10.2 kg", "6.4 mm"):
        assert words in said


def test_change_is_told_in_unit_per_cent_and_words() -> None:
    cells = rows(made(*samples.of_demo("DP07")), "change")[0]
    assert cells["name"]["head"] == "LEFT adrenal, caudal pole thickness"
    assert cells["change"]["head"] == "+0.2 mm (+2\u00a0%)"
    assert cells["words"]["head"] == "not distinguishable from the spread of repeat readings"


def test_change_claims_no_more_digits_than_the_values_and_no_per_cent_of_nothing() -> None:
    """The rule code gives 0.08 where two means of 5.0 are not the same; on paper that would be a reading of a hair."""
    cells = rows(made(*samples.of_demo("DP07")), "change")
    told = {row["name"]["head"]: row["change"]["head"] for row in cells}
    assert told["LEFT adrenal, cranial pole thickness"] == "+0.1 mm (+2\u00a0%)"
    assert change._rounded("+0.04", "5.0") == "0.0" and change._rounded("-1.15", "20.7") == "-1.2"
    value = {"value": "5.0", "unit": "mm", "earlier": {"change": "+0.04", "change_percent": "+1"}}
    assert change._amount(value) == "0.0 mm"
