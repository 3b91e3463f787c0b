"""Find it again: how a structure was reached in the last exam that says so; never a value of then."""

from typing import Any

from tests.core import support
from tests.core.entries import POLE, Entry, Writer

CRANIAL = "adrenal.left.cranial_pole_thickness"


def reached(earlier: list[list[Entry]], now: list[Entry] | None = None) -> dict[str, Any]:
    phone = Writer("9" * 32)
    request = {
        "do": "open",
        "entries": now or [phone.opened(date="2026-11-24")],
        "earlier": [{"entries": entries} for entries in earlier],
    }
    judged = support.call(request)["judgement"]
    return {row["structure"]: row for row in judged["last_time"]}


def exam(date: str, device: str, *acts: Any) -> list[Entry]:
    phone = Writer(device * 32)
    opened = phone.write("opened", {"about": "exam", "date": date, "patient": {"species": "dog"}})
    return [opened, *[act(phone) for act in acts]]


HOW = {"window": "left_aorta", "recumbency": "right lateral", "distance": "1 to 3 cm", "depth_mm": "60"}


def test_window_position_distance_depth_and_images_are_told_once_each() -> None:
    then = exam(
        "2026-05-02",
        "a",
        lambda phone: phone.read("6.2", POLE, image="14", **HOW),
        lambda phone: phone.read("6.4", POLE, image="14", **HOW),
        lambda phone: phone.read("4.1", CRANIAL, image="15", **HOW),
        lambda phone: phone.write("found", {"about": "adrenal.left", "finding": "nodule", "number": 2, "image": "17"}),
        lambda phone: phone.set("adrenal.left.images", ["12"]),
    )
    row = reached([then])["adrenal.left"]
    assert row["date"] == "2026-05-02"
    assert row["words"] == (
        "along the aorta, right lateral recumbency, 1 to 3 cm from the probe, depth 60 mm, "
        "image 12, 14 (caudal pole thickness), 15 (cranial pole thickness), 17 (nodule 2)"
    )


def test_no_value_of_then_is_told() -> None:
    """Source: the sketch of the table: the earlier value stands beside the box only once a reading is in."""
    then = exam("2026-05-02", "a", lambda phone: phone.read("7.77", POLE, image="14", **HOW))
    assert "7.7" not in reached([then])["adrenal.left"]["words"]


def test_the_latest_exam_that_says_so_is_taken_and_silence_is_no_line() -> None:
    old = exam("2026-01-02", "a", lambda phone: phone.read("6.2", POLE, window="left_kidney"))
    silent = exam("2026-05-02", "b", lambda phone: phone.read("6.2", POLE))
    assert reached([silent, old])["adrenal.left"]["words"] == "from the left kidney"
    assert reached([silent]) == {}


def test_windows_that_were_only_tried_are_told_as_such() -> None:
    then = exam("2026-05-02", "a", lambda phone: phone.set("adrenal.left.windows_tried", ["left_aorta", "left_twist"]))
    assert reached([then])["adrenal.left"]["words"] == "tried: along the aorta and a small twist"


def test_what_was_struck_is_not_told() -> None:
    phone = Writer("a" * 32)
    entries = [phone.opened(), phone.read("6.2", POLE, image="14")]
    entries.append(phone.struck(entries[-1]["id"]))
    assert reached([entries]) == {}


def test_an_image_number_stands_in_the_finding_s_sentence_and_the_structure_s() -> None:
    phone = Writer()
    entries = [
        phone.opened(),
        phone.write("found", {"about": "spleen", "finding": "nodule", "image": "22"}),
        phone.set("liver.images", ["3", "4"]),
    ]
    told = support.call({"do": "open", "entries": entries})["judgement"]["sentences"]
    assert "nodule, image 22" in told["spleen"].lower() and "Images: 3 and 4." in told["liver"]


def test_image_numbers_that_are_no_list_leave_the_entry_unread() -> None:
    phone = Writer()
    answer = support.call({"do": "open", "entries": [phone.opened(), phone.set("liver.images", "3")]})
    assert [row["kind"] for row in answer["exam"]["unread"]] == ["set"]


def test_a_difference_below_the_display_pixel_is_called_so() -> None:
    """Source: depth 300 mm over 600 rows: one pixel is 0.5 mm; 0.3 mm lies below it, 0.9 mm does not."""
    how = {"depth_mm": "300", "rows": "600"}
    for now, wanted in (("6.5", True), ("7.1", False), ("6.2", False)):
        phone, before = Writer("9" * 32), Writer("a" * 32)
        earlier = [before.opened(date="2026-05-02"), before.read("6.2", POLE, **how)]
        request = {
            "do": "open",
            "entries": [phone.opened(), phone.read(now, POLE, **how)],
            "earlier": [{"entries": earlier}],
        }
        values = support.call(request)["judgement"]["values"]
        words = next(row["earlier"]["words"] for row in values if row["quantity"] == POLE)
        assert words.endswith("; below one display pixel (0.5 mm at this depth)") is wanted, now
    pixel = next(row["pixel"] for row in values if row["quantity"] == POLE)
    assert pixel == "one display pixel is 0.5 mm at this depth"
