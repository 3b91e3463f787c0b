"""What a report says, in which order, and what it never says."""

import copy

import pytest

from tests.report import samples
from webapp.report import content, text, wording
from webapp.report.case import Json

ORDER = ["answer", "not_seen", "measured", "change", "recommendations", "signature", "sources", "cautions"]


def made(told: Json, judged: Json, facts: Json | None = None) -> Json:
    return content.report(told, judged, facts or samples.meta(), samples.tables())


def section(report: Json, name: str) -> str:
    """One section as plain text on one line."""
    wanted = report | {"sections": [one for one in report["sections"] if one["id"] == name]}
    return " ".join(text.text(wanted).partition("1. ")[2].split())


def table_rows(report: Json, name: str = "measurements") -> dict[str, Json]:
    blocks = [block for one in report["sections"] for block in one["blocks"] if block.get("name") == name]
    return {row["cells"]["name"]: row["cells"] for block in blocks for row in block["rows"]}


def gland_lines(report: Json) -> str:
    """Every statement about the RIGHT adrenal gland: its row, its sentence, its points, its gaps."""
    said = []
    for one in report["sections"][:4]:
        for block in one["blocks"]:
            for item in block.get("items", []):
                said.append(f"{item.get('label', '')} {item['text']}")
            said += [" ".join(row["cells"].values()) for row in block.get("rows", [])]
            said.append(f"{block.get('label', '')} {block.get('text', '')}")
    return "\n".join(line for line in said if "RIGHT adrenal" in line).lower()


def test_sections_come_in_the_order_a_reader_needs() -> None:
    assert [one["id"] for one in made(samples.exam(), samples.judgement())["sections"]] == ORDER


def test_question_answer_and_impression_stand_before_everything_else() -> None:
    told = samples.exam(fields={"impression": "Both glands thick."})
    blocks = made(told, samples.judgement())["sections"][0]["blocks"]
    assert [block["label"] for block in blocks[:3]] == ["Question", "Answered", "Impression"]
    assert [block["text"] for block in blocks[:3]] == ["Prostate? Kidneys?", "Partly", "Both glands thick."]


def test_unsigned_report_is_preliminary_in_head_answer_and_every_page() -> None:
    report = made(samples.exam(fields={"impression": "Thick."}), samples.judgement(), samples.unsigned())
    assert report["status"]["word"] == "PRELIMINARY"
    assert "PRELIMINARY" in report["running"]
    assert "PRELIMINARY" in section(report, "answer")
    assert "Signed by: Nobody yet." in section(report, "signature")


def test_hidden_pole_is_said_and_its_gland_never_called_normal_or_within() -> None:
    report = made(*samples.hidden_pole())
    lines = gland_lines(report)
    assert "cranial pole not seen (gas)" in lines
    for word in ("normal", "within", "above", "below"):
        assert word not in lines.replace("normally", ""), word
    rows = table_rows(report)
    assert rows["RIGHT adrenal, greatest thickness"]["mean"] == "\u2265 7.8"
    assert rows["RIGHT adrenal, greatest thickness"]["result"] == "no verdict"
    assert "barthez" not in text.text(report).lower()


def test_demo_hidden_pole_is_said_and_its_gland_never_called_normal_or_within() -> None:
    lines = gland_lines(made(*samples.of_demo("DP12")))
    assert "cranial pole not seen (gas, deep chest" in lines
    for word in ("normal", "within", "above", "below"):
        assert word not in lines, word


def test_every_single_reading_stands_beside_mean_spread_and_n() -> None:
    cells = table_rows(made(*samples.hidden_pole()))["RIGHT adrenal, caudal pole thickness"]
    assert cells["readings"].split() == ["7.4", "7.1", "8.9"]
    assert (cells["mean"], cells["spread"], cells["n"]) == ("7.8", "1.8", "3")


@pytest.mark.parametrize("name", samples.demo_names())
def test_no_demo_reading_is_missing(name: str) -> None:
    told, judged = samples.of_demo(name)
    printed = text.text(made(told, judged))
    for row in told["readings"]:
        assert row["value"] in printed, row["quantity"]


def test_struck_reading_is_listed_as_not_used() -> None:
    told, judged = samples.hidden_pole()
    slip = samples.reading("adrenal.right.caudal_pole_thickness", "74", struck=True, why_struck="slip of the finger")
    report = made(told | {"readings": [*told["readings"], slip]}, judged)
    assert "74 mm (slip of the finger)" in section(report, "measured")
    assert "74" not in table_rows(report)["RIGHT adrenal, caudal pole thickness"]["readings"].split()


def test_value_alone_never_makes_a_structure_normal() -> None:
    quantity = "spleen.thickness"
    report = made(
        samples.exam(readings=[samples.reading(quantity, "19.6")]),
        samples.judgement(values=[samples.value(quantity, "19.6", 1, "0")]),
    )
    assert "Measured, appearance not recorded: Spleen." in section(report, "measured")
    assert "normal" not in section(report, "measured")


def test_normal_on_the_record_is_not_repeated_beside_a_hidden_part() -> None:
    states = [
        samples.state("liver", "whole", "liver", normal=True),
        samples.state("liver.left", "not_seen", "liver", "left", why=["gas"]),
    ]
    said = section(made(samples.exam(states=states), samples.judgement()), "measured")
    assert "Left not seen." in said
    assert "recorded as normal" not in said


def test_normal_structures_share_one_sentence_and_asked_ones_are_spelled_out() -> None:
    states = [samples.state(name, "whole", name, normal=True) for name in ("liver", "spleen", "prostate")]
    question = {"text": "Prostate?", "structures": ["prostate"], "answered": "yes"}
    said = section(made(samples.exam(states=states, question=question), samples.judgement()), "measured")
    assert "Prostate (asked): Seen, recorded as normal." in said
    assert "Seen and recorded as normal: Liver and spleen." in said


def test_nobody_recorded_is_not_called_not_seen() -> None:
    said = section(made(*samples.hidden_pole()), "not_seen")
    assert "No entry by anybody: RIGHT adrenal (phrenicoabdominal vein)." in said


def test_entries_that_disagree_are_both_printed() -> None:
    fork = {
        "slot": "patient.weight_kg",
        "values": [
            {"id": "a", "value": "9.7", "author": "VS", "at": samples.ISSUED},
            {"id": "b", "value": "10.2", "author": "KM", "at": samples.ISSUED},
        ],
    }
    said = section(made(samples.exam(forks=[fork]), samples.judgement()), "not_seen")
    assert "Weight kg: 9.7 (VS) or 10.2 (KM)." in said


def test_thin_left_gland_beside_right_mass_prints_no_disease_name() -> None:
    told, judged = samples.of_demo("DP06")
    report = made(samples.without_words_of_people(told), judged)
    assert "thin beside a mass of the RIGHT gland" in section(report, "measured")
    assert_no_disease(report)


@pytest.mark.parametrize("name", samples.demo_names())
def test_numbers_never_produce_the_name_of_a_disease(name: str) -> None:
    told, judged = samples.of_demo(name)
    assert_no_disease(made(samples.without_words_of_people(told), judged))


def test_limit_held_back_for_want_of_signs_names_no_disease() -> None:
    row = next(row for row in samples.tables()["limits"]["rows"] if (row.get("applies_when") or {}).get("signs"))
    quantity = str(row["quantity"]).replace("*", "left")
    held = samples.line(quantity, "no_verdict", row["id"], grade=None)
    report = made(samples.exam(), samples.judgement(values=[samples.value(quantity, "3", 2, "0.1")], judged=[held]))
    assert (
        table_rows(report)[content.Case(samples.exam(), {}, {}, samples.tables()).label(quantity)]["limit"] == "\u2013"
    )


def assert_no_disease(report: Json) -> None:
    """Titles of papers name diseases and stay as printed; everything else is the program's own wording."""
    own = report | {"sections": [one for one in report["sections"] if one["id"] != "sources"]}
    printed = text.text(own).lower()
    for word in samples.NAMED_BY_PEOPLE_ONLY:
        assert word not in printed, word


@pytest.mark.parametrize("name", samples.demo_names())
def test_every_line_beyond_a_limit_has_its_source(name: str) -> None:
    told, judged = samples.of_demo(name)
    report = made(told, judged)
    listed = {
        f"[{item['number']}]": item for block in report["sections"][6]["blocks"] for item in block.get("items", [])
    }
    rows = table_rows(report)
    beyond = [flag for flag in judged["flags"] if flag["kind"] in ("above_limit", "below_limit")]
    case = content.Case(told, judged, {}, samples.tables())
    for flag in beyond:
        cells = rows[case.label(flag["about"])]
        for mark in cells["source"].split():
            assert listed[mark]["text"]
        assert any(
            case.label(flag["about"]).rpartition(", ")[2] in row
            for row in [words for mark in cells["source"].split() for words in listed[mark]["rows"]]
        )


def test_some_demo_line_is_beyond_its_limit() -> None:
    kinds = {flag["kind"] for name in samples.demo_names() for flag in samples.of_demo(name)[1]["flags"]}
    assert "above_limit" in kinds


def test_cut_off_is_called_a_cut_off_and_memory_unverified() -> None:
    quantity = "adrenal.left.maximum_thickness"
    also = [
        {"id": "barthez1995_universal", "verdict": "above", "words": "cut-off 7.4 mm: above"},
        {"id": "bento2016_gt12", "verdict": "above", "words": "unverified 7.2 mm: above (unverified)"},
    ]
    flag = samples.line(quantity, "above_limit", "melian2021_20_40_left", also=also)
    report = made(samples.exam(), samples.judgement(values=[samples.value(quantity, "7.8", 2, "0.1")], flags=[flag]))
    assert "cut-off 7.4 mm" in section(report, "measured")
    sources = section(report, "sources")
    assert "Diagnostic cut-off, no reference limit" in sources
    assert "unverified, from memory" in sources


def test_flags_that_speak_to_the_probe_are_worded_for_the_reader() -> None:
    said = section(made(*samples.of_demo("DP12")), "measured")
    assert "the single readings lie 1.8 mm apart" in said
    assert "take another" not in said


def test_answer_to_a_flag_is_printed_with_it() -> None:
    told, judged = samples.of_demo("DP12")
    flag = next(flag for flag in judged["flags"] if flag["kind"] == "above_limit")
    answered = told | {"acknowledged": [{"about": flag["about"], "flag": flag["kind"], "reason": "re-measured, same"}]}
    assert "Looked at: re-measured, same." in section(made(answered, judged), "measured")


def test_moved_weight_class_is_explained_with_both_weights() -> None:
    said = section(made(*samples.of_demo("DP07")), "change")
    assert "LEFT adrenal, greatest thickness: the weight class moved" in said
    for words in ("9.7 kg", "5.5 mm", "10.2 kg", "6.4 mm"):
        assert words in said


def test_change_is_told_in_unit_per_cent_and_words() -> None:
    cells = table_rows(made(*samples.of_demo("DP07")), "change")["LEFT adrenal, caudal pole thickness"]
    assert cells["change"].startswith("+") and cells["change"].endswith(" mm")
    assert cells["percent"].endswith("%")
    assert cells["words"] == "not distinguishable from the spread of repeat readings"


def test_recommendation_without_a_date_says_so() -> None:
    told = samples.exam(
        fields={
            "recommendations": [
                {"text": "Scan again after a fast", "due": "2026-12-01", "who": "RD"},
                {"text": "Urine culture", "due": None},
            ]
        }
    )
    said = section(made(told, samples.judgement()), "recommendations")
    assert "Scan again after a fast. By 1 December 2026; RD." in said
    assert "Urine culture. No date given; nobody named." in said


def test_later_version_names_its_reason_at_the_top_and_keeps_every_addendum() -> None:
    amendments = [
        {
            "status": "corrected",
            "reason": "Side was wrong",
            "text": "RIGHT, not LEFT.",
            "by": "IF",
            "at": "2026-11-21T09:00:00+01:00",
        }
    ]
    report = made(
        samples.exam(), samples.judgement(), samples.meta(status="corrected", version=2, amendments=amendments)
    )
    assert report["status"]["line"].endswith("Reason: Side was wrong.")
    assert "Addendum (corrected): Reason: Side was wrong. RIGHT, not LEFT." in section(report, "signature")


def test_entries_after_the_signature_are_announced_and_a_further_version_says_it_holds_them() -> None:
    told = samples.exam(late=["x", "y"], signed=[{"id": "s", "version": 1, "struck": False}])
    look = section(made(told, samples.judgement(), samples.unsigned()), "signature")
    assert "2 entries after the last signature, not in the signed version" in look
    further = section(made(told, samples.judgement(), samples.meta(version=2, status="appended")), "signature")
    assert "2 entries after the earlier version was signed, included here." in further


def test_fingerprints_name_limits_tables_rules_and_head() -> None:
    said = section(made(samples.exam(), samples.judgement()), "cautions")
    for words in ("limits-2026.11.1", "ab" * 32, "Rules: 1", "cd" * 32):
        assert words in said


def test_sides_are_in_capitals_everywhere() -> None:
    told, judged = samples.of_demo("DP12")
    report = made(samples.without_words_of_people(told), judged)
    own = " ".join(section(report, name) for name in ORDER if name != "sources")
    own = own.replace("at the left kidney", "").replace(
        "spleen and left kidney", ""
    )  # names of landmarks, not findings
    for word in ("left adrenal", "right adrenal", "left kidney", "right kidney", "left ureter", "left medial"):
        assert word not in own


def test_input_is_left_as_it_was() -> None:
    told, judged = copy.deepcopy(samples.of_demo("DP07"))
    before = copy.deepcopy((told, judged))
    made(told, judged)
    assert (told, judged) == before


@pytest.mark.parametrize(
    ("given", "shown"), [("2026-11-04", "4 November 2026"), ("soon", "soon"), (None, ""), ("2026-13-01", "2026-13-01")]
)
def test_day_in_words(given: str | None, shown: str) -> None:
    assert wording.day(given) == shown


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("2026-11-20T18:32:05+01:00", "20 November 2026, 18:32 (UTC+01:00)"),
        ("2026-11-20T18:32:05Z", "20 November 2026, 18:32 (UTC)"),
        ("2026-11-20", "20 November 2026"),
    ],
)
def test_moment_in_words(given: str, shown: str) -> None:
    assert wording.moment(given) == shown


def test_windows_tried_stand_with_the_part_that_stayed_hidden() -> None:
    told, judged = samples.hidden_pole()
    window = samples.tables()["windows"]["structures"]["adrenal.right"]["windows"][0]
    report = made(told | {"fields": {"adrenal.right.windows_tried": [window["id"]]}}, judged)
    assert f"window tried: {window['label']}." in section(report, "not_seen")
    assert window["id"] not in text.text(report)


def test_single_reading_beyond_a_limit_says_that_its_spread_is_not_known() -> None:
    quantity = "adrenal.left.maximum_thickness"
    flag = samples.line(quantity, "above_limit", "melian2021_20_40_left", call="spread not known")
    report = made(samples.exam(), samples.judgement(values=[samples.value(quantity, "7.8", 1, None)], flags=[flag]))
    assert table_rows(report)["LEFT adrenal, greatest thickness"]["result"] == "\u25b2 ABOVE, spread not known"
