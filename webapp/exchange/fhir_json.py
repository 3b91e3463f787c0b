"""A FHIR resource as JSON text in which a reading keeps its digits: 6.20 stays 6.20, which no float could.

FHIR R4, 2.24.0.1: "the precision of the decimal value has significance".
"""

import json
from decimal import Decimal
from typing import Any

MIME = "application/fhir+json"


def written(value: Any, depth: int = 0) -> str:
    """The text: dicts, lists, texts, whole numbers, booleans and Decimals. Raises TypeError for a float, or else."""
    inner, outer = "\n" + " " * (depth + 1), "\n" + " " * depth
    if isinstance(value, dict):
        pairs = [f"{_text(name)}: {written(item, depth + 1)}" for name, item in value.items()]
        return "{" + inner + ("," + inner).join(pairs) + outer + "}" if pairs else "{}"
    if isinstance(value, list):
        items = [written(item, depth + 1) for item in value]
        return "[" + inner + ("," + inner).join(items) + outer + "]" if items else "[]"
    if isinstance(value, Decimal):
        if not value.is_finite():
            raise TypeError(f"{value} is no number that JSON has")
        return format(value, "f")
    if value is None or isinstance(value, str | bool) or type(value) is int:
        return _text(value)
    raise TypeError(f"{type(value).__name__} has no exact form in JSON")


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)
