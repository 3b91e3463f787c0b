"""Two records of one animal made one, and made two again: entries of the desk, always by a person."""

from collections.abc import Mapping
from typing import Any

from sqlite_utils import Database

from webapp.animals import record
from webapp.store import animals, desk
from webapp.store.db import write
from webapp.store.entries import Act


class CannotMerge(ValueError):
    """These two cannot be made one (or two); the message says why."""


def named(patient: str, told: Mapping[str, Any]) -> dict[str, Any]:
    """An animal as entries name it beside its id."""
    return {"id": patient, "name": told.get("shown") or told.get("name"), "species": told.get("species")}


def both(db: Database, one: str, other: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """The two records. Raises CannotMerge where they are one already, or one of them is not there."""
    found = [animals.record(db, name) for name in (one, other)]
    if one == other or found[0] is None or found[1] is None:
        raise CannotMerge("Choose two records.")
    standing = animals.roots(db, [one, other])
    if standing[one] == standing[other]:
        raise CannotMerge("These two are one animal already.")
    for name, told in zip((one, other), found, strict=True):
        if standing[name] != name:
            raise CannotMerge(f"{(told or {}).get('shown') or 'One of them'} is merged into another record: take that.")
    return found[0], found[1]


def unlike_species(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether the two say different species: then they are not one animal, or one record is wrong."""
    species = {told.get("species") for told in (one, other)} - {None}
    return len(species) > 1


def merge(
    db: Database, gone: str, into: str, holds: Mapping[str, Any], why: str, author: str, seen: int
) -> str:
    """Merge the record `gone` into the record `into`; `holds` = the facts that are to stand there.

    Returns the merge's id. Both records keep every entry. Raises CannotMerge.
    """
    with write(db):
        lost, kept = both(db, gone, into)
        if unlike_species(lost, kept):
            raise CannotMerge("One is a dog and one a cat. Put the wrong record right first.")
        body = {"about": "patient", "from": named(gone, lost), "into": named(into, kept), "why": why}
        told = record.as_seen(db, into, seen) or {}
        acts = [Act("merged", body, author, desk.now(), None, into)]
        return desk.record(db, acts + record.acts(into, holds, author, told))[0]


def part(db: Database, patient: str, merge_id: str, why: str, author: str) -> None:
    """Undo a merge. What was put into the record that stood stays there until somebody changes it.

    Raises CannotMerge when the merge does not stand (any more).
    """
    with write(db):
        told = animals.record(db, patient) or {}
        found = next((row for row in told.get("merges", []) if row["id"] == merge_id), None)
        if found is None:
            raise CannotMerge("These two are two records already.")
        body = {"about": "patient", "why": why}
        desk.record(db, [Act("struck", body, author, desk.now(), None, found["into"]["id"], None, (), (merge_id,))])
