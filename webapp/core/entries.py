"""One entry: is it readable here, and which slot does it set? (DEVELOPERS.md, "An entry")"""

from . import moved, shapes, typed
from .catalogue import Catalogue
from .errors import CoreError

VERSION = 1
# Said of an exam, not by it: what was told to whom, what another reader made of it. Never late, at no time.
BESIDE = ("told", "second_read")
ADDITIVE = ("read", "found", "noted", "attached", "acknowledged", "struck", "signed", "amended", "procedure") + BESIDE
KINDS = ("opened", "set", "seen", "closed", "planned", "merged") + ADDITIVE
PATIENT_FIELDS = tuple(shapes.PATIENT)
CONTEXT_FIELDS = tuple(shapes.CONTEXT)
QUESTION_FIELDS = tuple(shapes.QUESTION)
WEIGHTS = ("patient.weight_kg", "patient.ideal_weight_kg")
GROUPS: dict = {"patient": shapes.PATIENT, "context": shapes.CONTEXT, "question": shapes.QUESTION}


def slot(entry: dict) -> str | None:
    """The slot that a set or seen entry fills, or None for an additive one."""
    about = entry["body"].get("about")
    if entry["kind"] == "seen":
        return "seen:" + str(about)
    if entry["kind"] == "set":
        return str(about)
    return None


def seen_about(entry: dict) -> object:
    """The structure or part whose state the entry sets, or None for any other entry."""
    body = entry.get("body")
    return body.get("about") if entry.get("kind") == "seen" and isinstance(body, dict) else None


def is_beside(entry: dict, by_id: dict) -> bool:
    """Whether an entry is said of the exam only: its kind is, or it strikes such entries and no other."""
    if entry.get("kind") != "struck":
        return entry.get("kind") in BESIDE
    struck = [by_id.get(name) for name in entry.get("of") or []]
    return bool(struck) and all([other is not None and other.get("kind") in BESIDE for other in struck])


def is_entry(given: object) -> bool:
    """Whether this has the shape of an opened entry at all: an id, a device and its count."""
    return (
        isinstance(given, dict)
        and isinstance(given.get("id"), str)
        and isinstance(given.get("device"), str)
        and isinstance(given.get("seq"), int)
    )


def unreadable(entry: dict, catalogue: Catalogue) -> str | None:
    """Why the entry cannot be read here, as a sentence, or None. Such entries are kept and shown as unread."""
    if entry.get("v") != VERSION:
        return "written by another version of the program (v " + str(entry.get("v")) + ")"
    kind, body = entry.get("kind"), entry.get("body")
    if kind not in KINDS:
        return "a kind of entry that this version does not know: " + str(kind)
    if entry.get("erased"):
        return "what stood here was erased by the practice"
    if not isinstance(body, dict):
        return "its body is not readable"
    try:
        for name in ("after", "of"):
            shapes.texts(entry.get(name) or [], name)
        for name in ("at", "author"):
            shapes.text(entry.get(name), name)
        check = CHECKS.get(kind)
        if check:
            check(body, catalogue)
    except CoreError as error:
        return error.message
    return None


def _check_opened(body: dict, catalogue: Catalogue) -> None:
    for name in ("patient", "context", "question"):
        if body.get(name) is not None:
            shapes.fields(body[name], GROUPS[name], name)
    for name in ("date", "purpose"):
        if body.get(name) is not None:
            shapes.text(body[name], name)


def _check_read(body: dict, catalogue: Catalogue) -> None:
    quantity = catalogue.quantity(body.get("about"))
    shapes.fields(body, shapes.READING, "a reading")
    if body.get("unit") != quantity["unit"]:
        raise CoreError("wrong_unit", "a reading in " + str(body.get("unit")) + ", kept in " + quantity["unit"])
    shapes.size(body.get("value"), "a reading")
    _check_typed(body, quantity["unit"])


def _check_typed(body: dict, unit: str) -> None:
    """The value that a device reckoned is what its person typed, or the entry is not believed."""
    if body.get("typed") is None:
        return
    if not typed.is_as_typed(body["value"], body["typed"], body.get("typed_unit") or unit, unit):
        raise CoreError("not_as_typed", "its value " + body["value"] + " is not what was typed: " + str(body["typed"]))


def _check_seen(body: dict, catalogue: Catalogue) -> None:
    catalogue.place(body.get("about"))
    shapes.one_of(body.get("seen"), catalogue.seen_states, "the state")
    for name in ("why", "tried"):
        if body.get(name) is not None:
            shapes.text_or_texts(body[name], name)
    if body.get("normal") is not None:
        shapes.truth(body["normal"], "normal")


def _check_found(body: dict, catalogue: Catalogue) -> None:
    structure = catalogue.structure(body.get("about"))
    shapes.text(body.get("finding"), "the finding")
    shapes.fields(body, shapes.FINDING, "a finding")
    shapes.dimensions(body.get("dimensions"))
    shapes.vessel(body.get("vessel"))
    if body.get("part"):
        catalogue.place(structure["id"] + "." + body["part"])


def _check_set(body: dict, catalogue: Catalogue) -> None:
    about = shapes.text(body.get("about"), "the name of a setting")
    if "value" not in body:
        raise CoreError("no_value", "a setting without a value")
    if about == moved.SLOT:
        moved.check(body)
    group, _, field = about.partition(".")
    check = GROUPS.get(group, {}).get(field)
    if check is not None and body["value"] is not None:
        check(body["value"], about)
    if about in WEIGHTS and body["value"] is not None:
        _check_typed(body, "kg")
    if body.get("source") is not None:
        shapes.text(body["source"], "source")
    if field.split(".")[-1] in ("windows_tried", "images") and body["value"] is not None:
        shapes.texts(body["value"], about)


def _check_attached(body: dict, catalogue: Catalogue) -> None:
    shapes.fields(body, shapes.ATTACHMENT, "an attachment")
    for name in ("about", "hash", "type"):
        shapes.text(body.get(name), name)


def _check_words(body: dict, catalogue: Catalogue) -> None:
    for name in ("about", "text", "flag", "reason", "why", "status", "asks", "answers"):
        if body.get(name) is not None:
            shapes.text(body[name], name)


def _check_signed(body: dict, catalogue: Catalogue) -> None:
    shapes.texts(body.get("covers"), "covers")
    shapes.whole(body.get("version"), "version")
    if body.get("signer") is not None:
        shapes.thing(body["signer"], "signer")


def _check_told(body: dict, catalogue: Catalogue) -> None:
    shapes.fields(body, shapes.TOLD, "what was told")
    shapes.text(body.get("to"), "who was told")


def _check_second_read(body: dict, catalogue: Catalogue) -> None:
    catalogue.structure(body.get("about"))
    shapes.one_of(body.get("reads"), shapes.SECOND_READS, "the second read")
    if body.get("text") is not None:
        shapes.text(body["text"], "text")


def _check_procedure(body: dict, catalogue: Catalogue) -> None:
    catalogue.place(body.get("about"))
    shapes.fields(body, shapes.PROCEDURE, "a procedure")
    shapes.text(body.get("procedure"), "the procedure")
    if body.get("watched") is None:
        shapes.truth(body.get("done"), "done")
    if body.get("consent") is not None:
        shapes.fields(body["consent"], shapes.CONSENT, "consent")
    for check in body.get("checks") or []:
        shapes.fields(check, shapes.CHECK, "a check")
        for name in ("id", "answer"):
            shapes.text(check.get(name), "a check's " + name)


CHECKS = {
    "opened": _check_opened,
    "read": _check_read,
    "seen": _check_seen,
    "found": _check_found,
    "set": _check_set,
    "noted": _check_words,
    "attached": _check_attached,
    "struck": _check_words,
    "acknowledged": _check_words,
    "amended": _check_words,
    "told": _check_told,
    "second_read": _check_second_read,
    "procedure": _check_procedure,
    "signed": _check_signed,
}
