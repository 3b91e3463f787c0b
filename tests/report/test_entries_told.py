"""What somebody did is told as what it was: measured without a description, noted with a reading."""

from tests.report import samples
from tests.report.test_content import made, section
from webapp.report import coverage


def test_what_was_noted_with_a_reading_is_printed_once_and_not_of_a_struck_one() -> None:
    quantity, gas = "spleen.thickness", "taken between\ngas shadows"
    taken = [
        samples.reading(quantity, "14.1", note=gas),
        samples.reading(quantity, "14.4", note=gas),
        samples.reading(quantity, "14.2", note=None),
        samples.reading(quantity, "41.2", note="misread", struck=True),
    ]
    judged = samples.judgement(values=[samples.value(quantity, "14.2", 3, "0.3")])
    said = section(made(samples.exam(readings=taken), judged), "measured")
    assert "Noted with readings: Spleen, body thickness 14.1 and 14.4 mm: taken between gas shadows." in said
    assert "misread" not in said


def test_what_was_measured_and_not_described_is_told_apart_from_what_nobody_recorded() -> None:
    described, judged = samples.of_demo("DP01")
    assert coverage.COMPLETE in section(made(described, judged), "answer")
    report = made(*samples.of_demo_without("DP01", "seen", "spleen"))
    said = section(report, "not_seen")
    assert "Measured, not described: Spleen." in said and "No entry by anybody" not in said
    assert "Not complete. 1 part measured, not described." in section(report, "answer")


def test_what_was_seen_in_part_is_not_told_part_by_part_as_having_no_entry() -> None:
    report = made(*samples.of_demo("DP12"))
    said = section(report, "not_seen")
    assert "Stomach: partly seen (food in the stomach, gas); which parts were seen is not recorded; two windows" in said
    assert "No entry by anybody: RIGHT adrenal (phrenicoabdominal vein)." in said
    assert "1 part without an entry." in section(report, "answer")


def test_a_vessel_that_holds_material_says_so_once() -> None:
    said = section(made(*samples.of_demo("DP06")), "measured")
    assert "Caudal vena cava: Seen. Material (lumen beside the adrenals), flow around it: partly blocking" in said


def test_who_typed_for_whom_is_said_once() -> None:
    report = made(*samples.of_demo("DP12"), samples.meta(people={"KM": "K. Meadow", "VS": "V. Sorrel"}))
    assert "Recorded by: K. Meadow for V. Sorrel." in section(report, "signature")


def test_another_procedure_is_named_without_a_hint_to_the_person_who_types() -> None:
    said = section(made(*samples.of_demo("DP12")), "measured")
    assert "Another procedure, Urinary bladder: Done" in said and "see the words" not in said
