"""What a report says, in which order, and what it never says."""

import copy
import re

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


def rows(report: Json, name: str) -> list[Json]:
    """The cells of each row of a table."""
    blocks = [block for one in report["sections"] for block in one["blocks"] if block.get("name") == name]
    return [row["cells"] for block in blocks for row in block["rows"]]


def cell_of(report: Json, label: str) -> Json:
    """{"head", "detail", "limit", "source"} of a measure by its full label."""
    side, _, rest = label.partition(" ")
    if side in ("LEFT", "RIGHT"):
        row = next(row for row in rows(report, "pairs") if row["name"] == rest[:1].upper() + rest[1:])
        return {**row[side.lower()], "limit": row["limit"], "source": row["source"]}
    row = next(row for row in rows(report, "parts") if row["name"] == label)
    return {**row["value"], "limit": row["limit"], "source": row["source"]}


def gland_lines(report: Json) -> str:
    """Every statement about the RIGHT adrenal gland: its cells, its sentence, its points, its gaps."""
    said = []
    for one in report["sections"][:4]:
        for block in one["blocks"]:
            for item in block.get("items", []):
                said.append(f"{item.get('label', '')} {item['text']}")
            said.append(f"{block.get('label', '')} {block.get('text', '')}")
    lines = [line for line in said if "RIGHT adrenal" in line or "RIGHT" in line and "drenal" in line]
    for row in rows(report, "pairs"):
        if row["name"].startswith("Adrenal"):
            of_the_side = row["limit"].partition("RIGHT")[2] or row["limit"]
            lines.append(f"{row['name']} {row['right']['head']} {row['right']['detail']} {of_the_side}")
    return "\n".join(lines).lower()


def test_sections_come_in_the_order_a_reader_needs() -> None:
    told, judged = samples.of_demo("DP12")
    later = samples.of_demo("DP07")
    assert [one["id"] for one in made(told, judged)["sections"]] == [name for name in ORDER if name != "change"]
    assert [one["id"] for one in made(*later)["sections"]] == [name for name in ORDER if name != "not_seen"]


def test_nothing_missing_and_nothing_earlier_is_said_in_a_line_each() -> None:
    """The two sections that would hold nothing else are left out; what they would say is not."""
    report = made(samples.exam(), samples.judgement())
    assert [one["id"] for one in report["sections"]] == [name for name in ORDER if name not in ("not_seen", "change")]
    assert "Every part on the list has an entry, and none says not seen" in section(report, "answer")
    assert "no earlier exam here" in report["context_line"].lower()


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
    cell = cell_of(report, "RIGHT adrenal, greatest thickness")
    assert cell["head"] == "\u2265 7.8"
    assert cell["limit"] == "no verdict: not seen whole"
    assert "barthez" not in text.text(report).lower()


def test_demo_hidden_pole_is_said_and_its_gland_never_called_normal_or_within() -> None:
    lines = gland_lines(made(*samples.of_demo("DP12")))
    assert "cranial pole not seen (gas, deep chest" in lines
    for word in ("normal", "within", "above", "below"):
        assert word not in lines, word


def test_every_single_reading_stands_beside_mean_number_and_spread() -> None:
    """A pole's stand in its gland's row."""
    cell = cell_of(made(*samples.hidden_pole()), "RIGHT adrenal, greatest thickness")
    assert (cell["head"], cell["detail"]) == ("\u2265 7.8", "caudal: 7.4 7.1 8.9 \u00b7 n 3 \u00b7 1.8")
    told, judged = samples.of_demo("DP12")
    assert cell_of(made(told, judged), "LEFT kidney, length")["detail"] == "70.0 71.3 70.6 \u00b7 n 3 \u00b7 1.3"


@pytest.mark.parametrize("name", samples.demo_names())
def test_no_demo_value_is_without_all_its_readings_in_one_place(name: str) -> None:
    """Mean, each reading, number and spread of every value stand together, in a table or in a line."""
    told, judged = samples.of_demo(name)
    printed = " ".join(text.text(made(told, judged)).split())
    for value in judged["values"]:
        if (value["n"] or 0) > 1 and not value["derived"]:
            readings = [
                row["value"]
                for row in told["readings"]
                if (row["quantity"], row["lesion"]) == (value["quantity"], value.get("lesion")) and not row["struck"]
            ]
            assert f"{' '.join(readings)} \u00b7 n {value['n']} \u00b7 {value['spread']}" in printed, value["quantity"]


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
    assert "74" not in cell_of(report, "RIGHT adrenal, greatest thickness")["detail"].split()


def test_why_one_reading_was_enough_is_said_only_of_what_was_read_once() -> None:
    once, twice = "adrenal.left.caudal_pole_thickness", "kidney.left.length"
    values = [samples.value(once, "4.2", 1, "0"), samples.value(twice, "42.0", 2, "0.1")]
    judged = samples.judgement(values=values)
    said = [{"about": about, "flag": "one_reading", "reason": "pain", "struck": struck}
            for about, struck in ((once, False), (twice, False), (once, True))]
    report = text.text(made(samples.exam(acknowledged=said[:2]), judged))
    assert "Measured once on purpose" in report and report.count("(pain)") == 1
    assert "Measured once on purpose" not in text.text(made(samples.exam(acknowledged=said[1:]), judged))


def test_value_alone_never_makes_a_structure_normal() -> None:
    quantity = "spleen.thickness"
    report = made(
        samples.exam(readings=[samples.reading(quantity, "19.6")]),
        samples.judgement(values=[samples.value(quantity, "19.6", 1, "0")]),
    )
    assert "Measured, appearance not recorded: - Spleen." in section(report, "measured")
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
    assert "Seen and recorded as normal: - Liver and spleen." in said


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
    label = content.Case(samples.exam(), {}, {}, samples.tables()).label(quantity)
    assert cell_of(report, label)["limit"] == "\u2013"


def assert_no_disease(report: Json) -> None:
    """Titles of papers name diseases and stay as printed; everything else is the program's own wording."""
    own = report | {"sections": [one for one in report["sections"] if one["id"] != "sources"]}
    printed = text.text(own).lower()
    for word in samples.NAMED_BY_PEOPLE_ONLY:
        assert word not in printed, word


@pytest.mark.parametrize("name", samples.demo_names())
def test_every_line_beyond_a_limit_has_its_source(name: str) -> None:
    """The citation, and of whom the figure speaks: population, how many, how it is known."""
    told, judged = samples.of_demo(name)
    report = made(told, judged)
    blocks = next(one["blocks"] for one in report["sections"] if one["id"] == "sources")
    listed = {f"[{item['number']}]": item for block in blocks for item in block["items"]}
    case = content.Case(told, judged, {}, samples.tables())
    for flag in judged["flags"]:
        if flag["kind"] in ("above_limit", "below_limit"):
            cell = cell_of(report, case.label(flag["about"]))
            row = case.limits[flag["limit"]["id"]]
            cited = [listed[mark] for mark in cell["source"].split()]
            facts = " ".join(words for item in cited for words in item["rows"])
            assert cited and all(item["text"] for item in cited)
            assert str(row["n"] or "").lower() in facts.lower()
            assert row["known"] == "read" or "quoted" in facts.lower()


def test_sources_are_numbered_in_the_order_in_which_they_are_read() -> None:
    for name in samples.demo_names():
        report = made(*samples.of_demo(name))
        printed = text.text(report | {"sections": [one for one in report["sections"] if one["id"] != "sources"]})
        met = list(dict.fromkeys(re.findall(r"\[(\d+)\]", printed)))
        assert met == [str(number) for number in range(1, len(met) + 1)], name


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
    assert "diagnostic cut-off, no reference limit" in sources
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


def test_recommendation_without_a_date_says_so() -> None:
    told = samples.exam(
        fields={
            "recommendations": [
                {"text": "Scan again after a fast", "due": "2026-12-01", "who": "RD"},
                {"text": "Urine culture", "due": None},
                {"text": "Look", "due": None, "part": "adrenal.left.waist", "plane": "long_axis"},
            ]
        }
    )
    said = section(made(told, samples.judgement()), "recommendations")
    assert "Scan again after a fast. By 1 December 2026: RD." in said
    assert "Urine culture. (No day, no person named.)" in said
    assert "Look. LEFT adrenal, waist, long axis. (No day, no person named.)" in said


def test_no_day_and_no_person_is_said_once_where_no_row_has_any() -> None:
    def told(*rows: Json) -> str:
        exam = samples.exam(fields={"recommendations": list(rows)})
        return section(made(exam, samples.judgement()), "recommendations")

    one, two = {"text": "Urine culture", "due": None}, {"text": "Look again", "due": None, "who": ""}
    said = told(one, two)
    assert said.count("No day, no person named") == 1 and "Urine culture." in said and "Look again." in said
    assert "Urine culture. (No day, no person named.)" in told(one)
    ended = {"text": "Scan", "state": "dropped", "why": "owner declined", "since": 2}
    assert "Scan. Dropped in version 2: owner declined." in told(one, ended)
    assert told(one, two, two | {"who": "RD"}).count("(No day, no person named.)") == 2


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
    assert cell_of(report, "LEFT adrenal, greatest thickness")["head"] == "7.8 \u25b2 ABOVE, spread not known"
