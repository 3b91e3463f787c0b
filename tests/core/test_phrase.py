"""Said and typed words: each phrase with the proposals that must come out, and no others.

Source: the project's contract for phrases ("A phrase in, proposals out"), restated here, and the wordings that
recognisers and hurried hands are known to produce.
"""

from typing import Any

import pytest

from tests.core import support
from webapp import rules

CASES: list[dict[str, Any]] = support.read_json(support.HERE / "phrases.json")
SEEN = {"not_seen": "not seen", "partly": "partly seen", "not_examined": "not examined", "removed": "removed"}


def phrase(text: str, species: str = "dog", **more: Any) -> Any:
    return support.call({"do": "phrase", "text": text, "species": species, **more})


def said(row: dict[str, Any]) -> Any:
    more = {key: row[key] for key in ("species", "unit", "sticky") if key in row}
    return phrase(row["say"], **more)


@pytest.mark.parametrize("row", CASES, ids=[f"{row['law']}: {row['say']}" for row in CASES])
def test_phrase(row: dict[str, Any]) -> None:
    answer = said(row)
    given = [
        {key: proposal.get(key) for key in want}
        for proposal, want in zip(answer["proposals"], row["expect"], strict=False)
    ]
    assert given == row["expect"]
    assert len(answer["proposals"]) == len(row["expect"])
    assert answer["left_over"] == row["left_over"]


def test_words_of_the_lists_are_understood_as_that_list_or_not_at_all() -> None:
    """Said in full, "liver margin rounded", for every word of every list; most are understood, none as another one."""
    tables = rules.tables()
    asked, understood = 0, 0
    for structure in tables["catalogue"]["structures"]:
        name = structure["id"]
        kind = tables["descriptors"]["classes"].get(name) or name.split(".")[0]
        for group in tables["descriptors"]["organs"].get(kind, []):
            for word in group["words"]:
                answer = phrase(f"{structure['label']} {group['label']} {word}")
                described = [one for one in answer["proposals"] if one["do"] == "describe"]
                asked += 1
                understood += bool(described)
                for one in described:
                    said = [(row["list"], row["words"]) for row in one["described"]]
                    assert (one["structure"], said) == (name, [(group["id"], [word])])
    assert understood > asked / 2, (understood, asked)
    print(f"{understood} of {asked}")


def alone(text: str, **more: Any) -> Any:
    """The one proposal of a phrase of which no word is left over."""
    answer = phrase(text, **more)
    assert answer["left_over"] == "" and len(answer["proposals"]) == 1, answer
    return answer["proposals"][0]


READ = [
    row
    for row in rules.tables()["catalogue"]["quantities"]
    if row["id"].split(".")[0] != "lesion"
    and (row["derived"] is None or row["derived"]["rule"] in ("larger_pole", "product", "none"))
]
UNIT = {
    "mm": ("mm", "millimetres"),
    "cm/s": ("cm/s", "centimetres per second"),
    "mL": ("ml", "millilitres"),
    "1": ("", ""),
}


@pytest.mark.parametrize("species", ["dog", "cat"])
@pytest.mark.parametrize("row", READ, ids=lambda row: row["id"])
def test_every_quantity_can_be_said_by_its_label_and_typed_by_its_short_form(row: dict[str, Any], species: str) -> None:
    window = row["usual"] and row["usual"][species] or row["plausible"]
    value = window["from"] or "20"
    short, long = UNIT[row["unit"]]
    texts = [f"{row['label']} {value} {short}", f"{row['label'].lower().replace(',', '')} {value} {long}"]
    if row["short"]:
        texts.append(f"{row['short']} {value} {short if row['unit'] == 'mL' else ''}")
    for text in texts:
        proposal = alone(text, species=species)
        assert (proposal["quantity"], proposal["values"], proposal["ask"]) == (row["id"], [value], None), text


STRUCTURES = [row for row in rules.tables()["catalogue"]["structures"] if row["id"] != "free_fluid"]


@pytest.mark.parametrize("row", STRUCTURES, ids=lambda row: row["id"])
def test_every_structure_and_part_takes_every_state(row: dict[str, Any]) -> None:
    for label in (row["label"], row["label"].lower()):
        for state, words in SEEN.items():
            proposal = alone(f"{label} {words}")
            assert (proposal["structure"], proposal["part"], proposal["seen"]) == (row["id"], None, state)
        assert alone(f"{label} normal")["structure"] == row["id"]
        for part in row["parts"]:
            for text in (f"{label} {part['label']} not seen, gas", f"{part['label']} of the {label} not seen, gas"):
                proposal = alone(text)
                assert (proposal["structure"], proposal["part"], proposal["why"], proposal["ask"]) == (
                    row["id"],
                    part["id"],
                    "gas",
                    None,
                ), text


@pytest.mark.parametrize("reason", rules.tables()["catalogue"]["not_seen_reasons"])
def test_every_reason_can_be_said(reason: str) -> None:
    for text in (f"spleen not seen, {reason}", f"spleen not seen {reason}", f"spleen not seen due to {reason}"):
        assert alone(text)["why"] == reason


@pytest.mark.parametrize("finding", rules.tables()["descriptors"]["finding_ids"])
def test_every_finding_can_be_said(finding: str) -> None:
    if finding == "none":
        assert alone("no free fluid")["finding"] == "none"
        return
    words = "lesion" if finding == "other" else finding.replace("_", " ")
    for text in (f"spleen {words}", f"{words} in the spleen"):
        proposal = alone(text)
        assert (proposal["structure"], proposal["finding"]) == ("spleen", finding)


def test_every_question_comes_with_what_may_be_answered() -> None:
    assert set(alone("left adrenal 6.2 mm")["offers"]) >= {
        "adrenal.left.caudal_pole_thickness",
        "adrenal.left.cranial_pole_thickness",
        "adrenal.left.length",
    }
    assert alone("la cd 62")["tenfold"] == [["6.2"]]
    assert alone("left kidney 4.2 mm")["tenfold"] == [["42"]]
    assert alone("bladder wall one four mm")["heard"] == ["1", "4"]
    assert alone("right kidney four point two")["typed"] == ["4.2"]
    assert alone("kidney 4.2")["asks"] == ["side", "unit"]


def test_the_sticky_context_goes_on_from_one_phrase_to_the_next() -> None:
    first = phrase("left adrenal")
    assert first["only_place"] and first["sticky"]["words"] == "LEFT ADRENAL" and not first["proposals"]
    second = phrase("caudal pole 4.2 mm", sticky={**first["sticky"], "age_s": 60})
    assert second["proposals"][0]["quantity"] == "adrenal.left.caudal_pole_thickness"
    third = phrase("4.3", sticky={**second["sticky"], "age_s": 5})
    assert third["proposals"][0]["values"] == ["4.3"]
    assert phrase("4.3", sticky={**second["sticky"], "age_s": 61})["proposals"] == []
    assert phrase("spleen normal", sticky=second["sticky"])["sticky"]["words"] == "SPLEEN"


@pytest.mark.parametrize(
    ("request_", "code"),
    [
        ({"species": "hamster"}, "wrong_type"),
        ({"species": None}, "wrong_type"),
        ({"text": None}, "wrong_type"),
        ({"text": 5}, "wrong_type"),
        ({"text": "x" * 4001}, "too_long"),
        ({"unit": "inch"}, "unknown_unit"),
        ({"sticky": 5}, "wrong_type"),
        ({"sticky": {"structure": "nose"}}, "unknown_structure"),
        ({"sticky": {"structure": "liver", "quantity": "nose.length"}}, "unknown_quantity"),
        ({"sticky": {"structure": "liver", "age_s": -1}}, "wrong_type"),
    ],
)
def test_a_call_that_cannot_be_read_is_refused(request_: dict[str, Any], code: str) -> None:
    answer = support.call({"do": "phrase", "text": "spleen normal", "species": "dog", **request_})
    assert answer["error"]["code"] == code
