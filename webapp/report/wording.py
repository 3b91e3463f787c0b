"""The report's own phrases, in plain words. What the rule code words itself is not worded again here."""

import re
from collections.abc import Iterable

from webapp import dates

_ISO_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")

TITLES = {
    "answer": "The question and the answer",
    "not_seen": "What was not seen",
    "measured": "Findings and measurements",
    "change": "Change since the earlier exam",
    "recommendations": "What to do by when",
    "signature": "Signature and status",
    "sources": "Sources of the limits",
    "cautions": "How to read this report",
}

# FHIR DiagnosticReport status words, and what each means to the reader.
STATUS = {
    "preliminary": "Not signed. The findings may still change; act on the signed version.",
    "final": "Signed.",
    "amended": "Signed again; findings or words were changed after the first signature.",
    "corrected": "Signed again; an error in the earlier version was put right.",
    "appended": "Signed again; something was added, the earlier text stands.",
}

ANSWERED = {"yes": "Yes", "partly": "Partly", "not possible": "Not possible with this exam"}

# The rule code words its look-again flags for the person with the probe ("take another"); the reader gets these.
POINTS = {
    "readings_disagree": "the single readings lie {amount} apart",
    "oblique": "a reading may be an oblique cut, which makes a part look thicker than it is",
    "check_value": "{amount} is an unusual value, kept as it was recorded",
    "partly_seen": "{amount} was read on a part that was only partly seen: no verdict",
}

# The rule code ends its alerts with a word to the person with the probe; the report has its own heading for that.
ALERT_ENDING = "; consider telling someone now"

# What a published row is used for, in the reader's words; a cut-off is never shown as a limit.
USE = {
    "limit": "limit",
    "alert": "alert threshold",
    "on_indication": "limit on indication",
    "criterion": "diagnostic cut-off, no reference limit",
    "reference": "reference figures, no limit",
    "unverified": "never used for a verdict",
}

KNOWN = {
    "read": "read in the paper or its abstract",
    "secondary": "quoted in another publication, paper not read",
    "memory": "unverified, from memory",
    "missing": "not found",
}

PLANES = {
    "long_axis": "long axis",
    "short_axis": "short axis",
    "dorsal": "dorsal plane",
    "unspecified": "plane not stated",
}

NO_EARLIER = "no earlier exam here"
UNSTATED = "No n (animals) or plane named: the source, as read, names none."

# Why a value has no verdict, where the rule code's words speak to the person with the probe.
SILENCE = {
    "no_published_limit": "no published limit",
    "unverified_only": "only unverified limits are known",
    "weight_unknown": "no verdict: weight not known",
    "needs_context": "no verdict: what this limit depends on was not recorded",
}

CAUTIONS = (
    "This report sets what was seen and measured beside published limits. It makes no diagnosis; the judgement is that "
    "of the vet who signs.",
    "Conclude nothing about parts not seen, partly seen or without an entry.",
    "A limit describes the animals of one study; breed, build, age, illness, sedation, fluids, position, machine and "
    "observer move values across it. Beyond is not the same as diseased, within not the same as healthy.",
    "A scan can miss early, small, flat or diffuse disease and seldom tells benign from malignant.",
    "Urgent findings are told in person: this file may lie unopened.",
)
CAUTION_OF_ADRENALS = (
    "Adrenal size alone neither confirms nor excludes a hormone disorder: signs and tests decide; earlier steroid by "
    "any route can thin the glands."
)
CAUTION_OF_CHANGE = "A change smaller than the spread of repeated readings is not a change."


def day(text: object) -> str:
    """ "2026-11-24" as "24 November 2026"; anything else as it stands."""
    return dates.day(text, dates.LONG)


def dated(text: str) -> str:
    """The rule code's words with each "2026-11-24" as "24 November 2026"; never for what a person typed."""
    return _ISO_DAY.sub(lambda found: day(found[0]), text)


def moment(text: object) -> str:
    """ "2026-11-24T18:32:05+01:00" as "24 November 2026, 18:32 (UTC+01:00)"."""
    words = str(text or "")
    if len(words) < 16 or words[10] != "T":
        return day(words)
    zone = words[16:].lstrip(":0123456789.")
    shown = "UTC" if zone in ("Z", "+00:00") else f"UTC{zone}" if zone else ""
    return f"{day(words)}, {words[11:16]}" + (f" ({shown})" if shown else "")


def several(items: Iterable[object], last: str = "and") -> str:
    """ "a, b and c"."""
    words = [str(item) for item in items]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def unit(code: object) -> str:
    """A unit as printed; a ratio ("1") and a score have none."""
    return "" if code in (None, "1", "{score}") else str(code)


def with_unit(value: object, code: object) -> str:
    return f"{value} {unit(code)}".rstrip()


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """The text with a full stop, unless it ends with a mark of its own."""
    return text if not text or text[-1] in ".!?:" else text + "."


def count(number: int, one: str, more: str) -> str:
    return f"{number} {one if number == 1 else more}"
