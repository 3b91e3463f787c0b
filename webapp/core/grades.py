"""Grades without fatigue: how loud each kind of line is, whom a finding is told to, and what the practice may change.

A grade orders and marks a line; it never hides one: there is no grade for silence, and the text always stands. The
practice may give a kind another grade, and put its own entries before the published list of findings worth telling
someone. Whatever makes a line quieter than it came needs a written reason, which then stands in the line or beside it.
"""

from . import shapes
from .catalogue import Catalogue
from .errors import CoreError

TELL = "tell_someone"
# From the loudest to the quietest.
GRADES = (TELL, "look_again", "outside", "note")
WORDS = {TELL: "tell someone", "look_again": "look again", "outside": "outside", "note": "note"}
# In the order in which they are listed: a dict has none on the phone.
KINDS = (
    ("alert", "a value or finding on the list of what someone is told"),
    ("check_value", "a value that looks like a slip, or is hard to believe"),
    ("readings_disagree", "readings that lie far apart"),
    ("oblique", "a reading that is probably oblique"),
    ("partly_seen", "a reading of a part that was only partly seen"),
    ("above_limit", "above a limit"),
    ("below_limit", "below a limit"),
    ("near_limit", "within a limit, and close to it"),
    ("changed", "a change that is more than the spread"),
    ("side_difference", "the two sides differ"),
    ("small_other_gland", "a thin gland beside a mass of the other"),
    ("caution", "a caution"),
)
MOST_ENTRIES = 60


def quieter(grade: str, than: str) -> bool:
    return GRADES.index(grade) > GRADES.index(than)


def applied(thresholds: dict, overlay: dict, descriptors: dict, catalogue: Catalogue) -> dict:
    """The thresholds with the practice's grades and its own entries before the published list."""
    made = dict(thresholds)
    given = shapes.thing(overlay.get("grades") or {}, "grades")
    made["grades"] = dict(thresholds["grades"])
    made["grades_why"] = {}
    for kind in given:
        if kind not in made["grades"]:
            raise CoreError("unknown_kind", 'there is no kind of line "' + str(kind) + '"')
        change = shapes.thing(given[kind], "a grade")
        grade = _grade(change)
        why = _why(change, quieter(grade, made["grades"][kind]))
        made["grades"][kind] = grade
        if why:
            made["grades_why"][kind] = why
    own = overlay.get("tell") or []
    if not isinstance(own, list) or len(own) > MOST_ENTRIES:
        raise CoreError("not_entries", "own entries of the list are a list of " + str(MOST_ENTRIES) + " at most")
    made["tell_someone"] = [own_entry(entry, descriptors, catalogue) for entry in own] + thresholds["tell_someone"]
    return made


def own_entry(given: object, descriptors: dict, catalogue: Catalogue) -> dict:
    """One own entry, complete: {"finding" or "vessel_state_begins", "structures", "grade", "why"}.

    CoreError codes: wrong_type, unknown_state, unknown_structure, unknown_grade, no_reason.
    """
    entry = dict(shapes.thing(given, "an entry of the list"))
    vessel = entry.get("vessel_state_begins")
    if vessel is None:
        known = [name for name in descriptors["finding_ids"] if name != "none"]
        shapes.one_of(entry.get("finding"), known, "the finding")
    elif vessel != "material" or entry.get("finding") is not None:
        raise CoreError("unknown_state", 'a state of a vessel on the list is "material", and stands without a finding')
    for name in shapes.texts(entry.get("structures") or [], "structures"):
        catalogue.structure(name)
    grade = _grade(entry)
    made = {"finding": entry.get("finding"), "grade": grade, "own": True, "why": _why(entry, quieter(grade, TELL))}
    if vessel is not None:
        made["vessel_state_begins"] = vessel
    if entry.get("structures"):
        made["structures"] = entry["structures"]
    return made


def rule_for(finding: dict, rules: list) -> dict | None:
    """The first entry of the list that speaks of this kind of finding at this place."""
    for rule in rules:
        if not rule.get("vessel_state_begins") and rule["finding"] == finding["finding"] and _at(finding, rule):
            return rule
    return None


def vessel_rule_for(finding: dict, state: str, rules: list) -> dict | None:
    """The first entry of the list that speaks of this state of a vessel beside a finding of this structure."""
    for rule in rules:
        begins = rule.get("vessel_state_begins")
        if begins and state[: len(begins)] == begins and _at(finding, rule):
            return rule
    return None


def _at(finding: dict, rule: dict) -> bool:
    return not rule.get("structures") or finding["structure"] in rule["structures"]


def told_why(thresholds: dict, rule: dict | None = None) -> str:
    """The end of an alert's line that the practice made quieter, this one or all of them, with its reason."""
    by_rule = rule is not None and rule.get("grade")
    why = rule["why"] if rule is not None and by_rule else (thresholds.get("grades_why") or {}).get("alert")
    return "; not on this practice's list of what someone is told" + (" (" + why + ")" if why else "")


def entry_words(rule: dict, catalogue: Catalogue) -> str:
    """ "fluid filled: Uterus or stump"; "material in a vessel beside it: any structure"."""
    what = "material in a vessel beside it" if rule.get("vessel_state_begins") else rule["finding"].replace("_", " ")
    names = [catalogue.label(name) for name in rule.get("structures") or []]
    return what + ": " + (", ".join(names) or "any structure")


def listed(thresholds: dict, catalogue: Catalogue) -> dict:
    """For the register: {"grades": [{"kind", "words", "grade", "grade_words", "why"}],
    "tell": [{"words", "grade", "grade_words", "why", "own"}]}; the list in the order in which it is gone by."""
    why = thresholds.get("grades_why") or {}
    kinds = [
        {
            "kind": kind,
            "words": words,
            "grade": thresholds["grades"][kind],
            "grade_words": WORDS[thresholds["grades"][kind]],
            "why": why.get(kind, ""),
        }
        for kind, words in KINDS
    ]
    alert = thresholds["grades"]["alert"]
    told = [
        {
            "words": entry_words(rule, catalogue),
            "grade": rule.get("grade") or alert,
            "grade_words": WORDS[rule.get("grade") or alert],
            "why": rule.get("why") or "",
            "own": rule.get("own", False),
        }
        for rule in thresholds["tell_someone"]
    ]
    return {"grades": kinds, "tell": told}


def _grade(given: dict) -> str:
    grade = given.get("grade")
    if grade not in GRADES:
        raise CoreError("unknown_grade", "a grade is one of: " + ", ".join([WORDS[name] for name in GRADES]))
    return str(grade)


def _why(given: dict, needed: bool) -> str:
    """The reason, which whatever makes a line quieter cannot do without."""
    why = shapes.text(given.get("why") or "", "the reason").strip()
    if needed and not why:
        raise CoreError("no_reason", "a line that is made quieter than it came needs a reason in words")
    return why
