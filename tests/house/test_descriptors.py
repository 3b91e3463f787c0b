"""The closed lists of words: every organ has its own, they say what someone saw, and nothing more."""

import json

import pytest

from tests.house.tree import ROOT

TABLES = ROOT / "webapp" / "core" / "tables"
WORDS = json.loads((TABLES / "descriptors.json").read_text(encoding="utf-8"))
STRUCTURES = [row["id"] for row in json.loads((TABLES / "catalogue.json").read_text(encoding="utf-8"))["structures"]]
# What a word of a list may never say: a cause, a judgement, or that all is well.
NOT_OURS = ("normal", "abnormal", "tumour", "neoplas", "cancer", "infect", "inflam", "mucocele", "torsion", "disease")


def organ_of(structure: str) -> str:
    kind = structure.split(".")[0]
    return structure if structure in WORDS["organs"] else WORDS["classes"].get(structure, kind)


@pytest.mark.parametrize("structure", STRUCTURES)
def test_every_structure_has_three_to_six_lists_of_words(structure: str) -> None:
    if structure.startswith("adrenal."):
        assert {"shape", "capsule", "layers", "echogenicity", "fat_around", "mineral"} <= WORDS["adrenal"].keys()
        return
    groups = WORDS["organs"][organ_of(structure)]
    assert 3 <= len(groups) <= 6
    assert len({group["id"] for group in groups}) == len(groups)
    for group in groups:
        assert group["id"].isascii() and group["id"].replace("_", "").isalpha() and group["label"]
        assert 2 <= len(group["words"]) <= 6 and len(set(group["words"])) == len(group["words"])


def test_words_describe_and_do_not_judge() -> None:
    said = json.dumps([WORDS["organs"], WORDS["adrenal"], WORDS["sketch"]]).casefold()
    assert [word for word in NOT_OURS if word in said] == []
    assert WORDS["organs_known"].startswith("common practice")


@pytest.mark.parametrize("organ", WORDS["sketch"])
def test_a_sketch_has_nine_fields_with_names_of_their_own(organ: str) -> None:
    sketch = WORDS["sketch"][organ]
    names = {
        ", ".join(word for word in (row, column) if word != "middle") or "middle"
        for row in sketch["rows"]
        for column in sketch["columns"]
    }
    assert len(names) == 9 and sketch["side"]


def test_every_kind_in_the_lists_is_a_kind_of_structure() -> None:
    kinds = {organ_of(structure) for structure in STRUCTURES}
    assert set(WORDS["organs"]) <= kinds
    assert set(WORDS["sketch"]) - {"default"} <= kinds
    assert set(WORDS["classes"]) <= set(STRUCTURES)


@pytest.mark.parametrize("kind", WORDS["opposites"])
def test_opposites_are_words_of_one_list(kind: str) -> None:
    lists = {group["id"]: group["words"] for group in WORDS["organs"].get(kind, [])}
    if kind == "adrenal":
        shapes = WORDS["adrenal"]["shape"]
        lists = {**WORDS["adrenal"], "shape": [*shapes["left"], *shapes["right"], *shapes["both"]]}
    for name, one, other in WORDS["opposites"][kind]:
        assert one != other and {one, other} <= set(lists[name]), (kind, name)
    pairs = [(name, *sorted(pair)) for name, *pair in WORDS["opposites"][kind]]
    assert len(pairs) == len(set(pairs))


@pytest.mark.parametrize("structure", STRUCTURES)
def test_a_few_findings_come_first_for_every_structure(structure: str) -> None:
    first = WORDS["finding_first"][organ_of(structure)]
    assert 3 <= len(first) <= 11 and len(set(first)) == len(first)
    assert set(first) < set(WORDS["finding_ids"]) - {"none"}


def test_what_is_told_at_once_is_offered_first_where_it_counts() -> None:
    rules = json.loads((TABLES / "thresholds.json").read_text(encoding="utf-8"))["tell_someone"]
    for rule in rules:
        if "finding" not in rule:
            continue
        somewhere = [name for name in STRUCTURES if rule["finding"] in WORDS["finding_first"][organ_of(name)]]
        assert somewhere and set(rule.get("structures") or []) <= set(somewhere), rule
