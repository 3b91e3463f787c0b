"""The phones' JSON interface as webapp/sync/openapi.json tells it, attacked by schemathesis.

Whatever comes, good or broken: no 5xx, an answer of a kind that is told there, in the shape that is told there, and
nothing without a token.
"""

import json
import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import schemathesis
from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.errors import Unsatisfiable
from schemathesis import checks
from schemathesis.core.failures import AcceptedNegativeData, FailureGroup
from sqlite_utils import Database

from tests.conftest import BEARER
from webapp import sync
from webapp.accounts import allowed

TOLD = json.loads((Path(sync.__file__).parent / "openapi.json").read_text(encoding="utf-8"))
# What only the practice can know (is this the right hash, was this code given out) stands in no schema.
NOTHING_TO_BREAK = {f"GET /api/{name}, negative" for name in ("ping", "practice", "pair/{pairing}")}
# What calls the server without a line between does not unfold what comes compressed.
AS_IT_IS = BEARER | {"Accept-Encoding": "identity"}
NOT_ASKED = [checks.positive_data_acceptance]
# An address may carry words that this version does not know (a newer phone's), and the token is sent with every
# request: a case that breaks nothing else is a good one.
BREAKS_NOTHING = {"query: violates `additionalProperties`", "header: violates `required` (was Authorization)",
                  "header: violates `format` at /properties/Authorization"}


def breaks_something(failure: Exception) -> bool:
    broken = set(re.findall(r"(?:- |Invalid component: )(.+)", getattr(failure, "message", "")))
    return not (isinstance(failure, AcceptedNegativeData) and broken and broken <= BREAKS_NOTHING)



def cases(app: Flask) -> Iterator[tuple[str, st.SearchStrategy[schemathesis.Case]]]:
    """Per address and method: good requests, and such as break what is told."""
    schema = schemathesis.openapi.from_dict(TOLD)
    schema.app = app
    schema.config.update(base_url="http://localhost")
    for found in schema.get_all_operations():
        operation = found.ok()
        for mode in schemathesis.GenerationMode:
            yield f"{operation.label}, {mode.value}", operation.as_strategy(generation_mode=mode)


def attacked(strategy: st.SearchStrategy[schemathesis.Case]) -> int:
    """How many requests were sent, none where there is nothing to break; each must be answered as told."""
    tried = 0

    @settings(max_examples=15, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
    @given(strategy)
    def attack(case: schemathesis.Case) -> None:
        nonlocal tried
        tried += 1
        try:
            case.call_and_validate(headers=AS_IT_IS, excluded_checks=NOT_ASKED)
        except FailureGroup as found:
            if any(breaks_something(one) for one in found.exceptions):
                raise

    with suppress(Unsatisfiable):
        attack()
    return tried


def test_whatever_comes_is_answered_as_told(app: Flask, db: Database) -> None:
    tried = {label: attacked(strategy) for label, strategy in cases(app)}
    assert {label for label, many in tried.items() if many == 0} <= NOTHING_TO_BREAK
    assert sum(tried.values()) > 120, tried


def test_the_description_tells_every_address_of_the_interface(app: Flask) -> None:
    kinds = {"GET", "POST", "PUT", "HEAD"}
    real = set()
    for rule in app.url_map.iter_rules():
        if rule.rule.startswith("/api/"):
            methods = (rule.methods or set()) & kinds
            real |= {(rule.rule.replace("<", "{").replace(">", "}"), one) for one in methods}
    real -= {(path, "HEAD") for path, one in real if one == "GET"}
    told = {(path, one.upper()) for path, ways in TOLD["paths"].items() for one in ways if one.upper() in kinds}
    assert told == real


def test_what_asks_for_a_token_in_the_description_refuses_without(app: Flask, db: Database) -> None:
    closed = 0
    for path, ways in TOLD["paths"].items():
        for way, told in ways.items():
            if "security" in told:
                address = path.replace("{name}", "ab" * 32)
                answer = app.test_client().open(address, method=way.upper(), json={})
                assert answer.status_code == 401, (way, path)
                closed += 1
    assert closed == 6
    assert {rule.endpoint for rule in app.url_map.iter_rules() if rule.rule.startswith("/api/")} <= set(allowed.DOORS)
