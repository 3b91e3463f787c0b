"""Every published number says where it comes from, for whom it holds and what it may be used for."""

from typing import Any

import pytest

from webapp import rules

Row = dict[str, Any]
LIMITS: list[Row] = rules.tables()["limits"]["rows"]
SOURCES: dict[str, Row] = rules.tables()["limits"]["sources"]
CATALOGUE: Row = rules.tables()["catalogue"]
KNOWN = {"read", "secondary", "memory", "missing"}


@pytest.mark.parametrize("row", LIMITS, ids=lambda row: row["id"])
def test_limit_says_source_population_and_how_it_is_known(row: Row) -> None:
    for field in ("known", "population", "use"):
        assert row[field], field
    assert row["known"] in KNOWN
    assert row["source"] is None or SOURCES[row["source"]]
    if row["use"] in ("limit", "alert", "on_indication"):
        assert row["source"] is not None
        assert row["known"] in ("read", "secondary"), "known from memory: may not flag"
        assert row.get("lower") or row.get("upper") or row.get("formula")


def test_ids_are_there_once() -> None:
    for rows in (LIMITS, CATALOGUE["structures"], CATALOGUE["quantities"]):
        ids = [row["id"] for row in rows]
        assert len(ids) == len(set(ids))


def test_numbers_are_decimal_text() -> None:
    for row in LIMITS:
        for field in ("lower", "upper", "mean", "sd", "median"):
            assert row.get(field) is None or isinstance(row[field], str), (row["id"], field)


def test_quantities_belong_to_structures_of_the_catalogue() -> None:
    parts = {row["id"]: {part["id"] for part in row["parts"]} for row in CATALOGUE["structures"]}
    for quantity in CATALOGUE["quantities"]:
        if quantity["structure"] is not None:
            assert quantity["part"] is None or quantity["part"] in parts[quantity["structure"]], quantity["id"]


def test_sources_are_cited_in_full() -> None:
    for name in {row["source"] for row in LIMITS if row["source"] and row["use"] != "missing"}:
        source = SOURCES[name]
        assert source["title"] or source["journal"], name
        assert source["authors"] or source["journal"], name
