"""One entry: is it readable here, and which slot does it set? (DEVELOPERS.md, "An entry")"""

from . import decimals, typed
from .catalogue import Catalogue
from .errors import CoreError

VERSION = 1
ADDITIVE = ("read", "found", "noted", "acknowledged", "struck", "signed", "amended")
KINDS = ("opened", "set", "seen", "closed", "planned") + ADDITIVE
PATIENT_FIELDS = (
    "name",
    "species",
    "breed",
    "sex",
    "neutered",
    "birth_date",
    "age_months",
    "weight_kg",
    "weight_source",
    "ideal_weight_kg",
    "body_condition",
)
CONTEXT_FIELDS = ("sedation", "fluids", "bladder_filling", "fasted", "steroids", "recumbency", "signs")
QUESTION_FIELDS = ("text", "structures", "answered")
SEEN_NEEDS_WHY = ("not_seen", "not_examined")


def slot(entry: dict) -> str | None:
    """The slot that a set or seen entry fills, or None for an additive one."""
    about = entry["body"].get("about")
    if entry["kind"] == "seen":
        return "seen:" + str(about)
    if entry["kind"] == "set":
        return str(about)
    return None


def unreadable(entry: dict, catalogue: Catalogue) -> str | None:
    """Why the entry cannot be read here, as a sentence, or None. Such entries are kept and shown as unread."""
    if entry.get("v") != VERSION:
        return "written by another version of the program (v " + str(entry.get("v")) + ")"
    if entry.get("kind") not in KINDS:
        return "a kind of entry that this version does not know: " + str(entry.get("kind"))
    body = entry.get("body")
    if not isinstance(body, dict):
        return "its body is not readable"
    try:
        check = CHECKS.get(entry["kind"])
        if check:
            check(body, catalogue)
    except CoreError as error:
        return error.message
    return None


def _check_read(body: dict, catalogue: Catalogue) -> None:
    quantity = catalogue.quantity(body.get("about"))
    if body.get("unit") != quantity["unit"]:
        raise CoreError(
            "wrong_unit", "a reading in " + str(body.get("unit")) + " where " + quantity["unit"] + " is kept"
        )
    value = decimals.parse(body.get("value"))
    if value[0] < 0:
        raise CoreError("negative", "a reading below zero")
    text = body.get("typed")
    if text is None:
        return
    written, unit = typed.split(text)
    meant = typed.convert(written, unit or body.get("typed_unit") or quantity["unit"], quantity["unit"])
    if decimals.compare(decimals.parse(meant), value) != 0:
        raise CoreError("not_as_typed", "its value " + str(body["value"]) + " is not what was typed: " + str(text))


def _check_seen(body: dict, catalogue: Catalogue) -> None:
    catalogue.place(body.get("about"))
    if body.get("seen") not in catalogue.seen_states:
        raise CoreError("unknown_state", "a state that this version does not know: " + str(body.get("seen")))


def _check_found(body: dict, catalogue: Catalogue) -> None:
    catalogue.structure(body.get("about"))
    if not body.get("finding"):
        raise CoreError("no_finding", "a finding without a name")
    for size in body.get("dimensions") or []:
        decimals.parse(size)


def _check_set(body: dict, catalogue: Catalogue) -> None:
    about = body.get("about")
    if not isinstance(about, str) or "value" not in body:
        raise CoreError("no_slot", "a setting without a name or a value")
    if about in ("patient.weight_kg", "patient.ideal_weight_kg") and body["value"] is not None:
        decimals.parse(body["value"])


CHECKS = {"read": _check_read, "seen": _check_seen, "found": _check_found, "set": _check_set}
