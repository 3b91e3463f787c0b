"""The contract's own check cases: each must come out, and what is forbidden must not."""

from typing import Any

import pytest

from tests.core import support

CASES = support.read_json(support.HERE / "cases.json")
FORBIDS = ("never", "never_open", "no_grades")


@pytest.mark.parametrize("row", CASES, ids=[f"{row['name']} [{row['source']}]" for row in CASES])
def test_contract_case(row: dict[str, Any]) -> None:
    judged = support.assess(row["case"])
    assert support.faults(judged, row["expect"]) == [], f"source: {row['source']}"


def test_there_are_as_many_cases_as_were_handed_over() -> None:
    assert len(CASES) == 31
    assert all(row["expect"] for row in CASES)


@pytest.mark.parametrize(
    ("expect", "fault"),
    [
        ({"flags": [{"kind": "above_limit", "limit": "another row"}]}, "flags lack"),
        ({"never": [{"kind": "above_limit"}]}, "flags hold"),
        ({"open": [{"about": "liver", "kind": "not_seen"}]}, "open lack"),
        ({"never_open": [{"about": "liver"}]}, "open hold"),
        ({"no_grades": ["outside"]}, "grade outside"),
        ({"error": True}, "no error"),
        ({"nevr": []}, "unknown expectation"),
    ],
)
def test_the_matching_itself_can_fail(expect: dict[str, Any], fault: str) -> None:
    """Source: the matching rules of the contract; a check that cannot fail checks nothing."""
    judged = support.judge(support.dog("7"), support.reading("adrenal.left.maximum_thickness", "5.6", "5.6"))
    assert [text for text in support.faults(judged, expect) if text.startswith(fault)]
