"""Our own cases for every sentence of the contract's rules and of the thresholds, one file per subject.

A case names the law that it shows and the outside source of its numbers.
"""

from typing import Any

import pytest

from tests.core import support

FOLDER = support.HERE / "rules_cases"
ROWS = [(path.stem, row) for path in sorted(FOLDER.glob("*.json")) for row in support.read_json(path)]


@pytest.mark.parametrize(("subject", "row"), ROWS, ids=[f"{subject}: {row['law']}" for subject, row in ROWS])
def test_rule(subject: str, row: dict[str, Any]) -> None:
    judged = support.assess(row["case"])
    assert support.faults(judged, row["expect"]) == [], f"source: {row['source']}"


def test_every_case_names_its_source_and_expects_something() -> None:
    assert [row["law"] for _, row in ROWS if not row["source"] or not row["expect"]] == []


def test_no_two_cases_show_the_same_law() -> None:
    laws = [row["law"] for _, row in ROWS]
    assert sorted({law for law in laws if laws.count(law) > 1}) == []
