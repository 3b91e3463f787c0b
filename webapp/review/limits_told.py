"""What is said where an exam is not judged by the limits in force, or was judged by others at the table."""

from collections.abc import Sequence
from typing import Any


def lines(entries: Sequence[dict[str, Any]], judged_by: str, in_force: str) -> list[str]:
    """Sentences for the exam's page; none where table, page and practice go by one version.

    `entries` = the exam's, opened, in order of arrival; `judged_by` = the version of what the page shows.
    """
    told = []
    if judged_by != in_force:
        told.append(f"This exam keeps the limits that it was signed by, {judged_by}; in force now: {in_force}.")
    at_the_table = _at_the_table(entries)
    if at_the_table not in (None, judged_by):
        told.append(f"At the table it was judged by other limits, {at_the_table}; here by {judged_by}.")
    return told


def _at_the_table(entries: Sequence[dict[str, Any]]) -> str | None:
    """The version that the phone named when the exam was closed, where it named one."""
    for entry in reversed(entries):
        if entry["kind"] == "closed" and entry["body"]:
            named = entry["body"].get("limits_version")
            return named if isinstance(named, str) else None
    return None
