"""What moves a value without disease (sedation, fluids, filling, steroids), said beside it and never silencing it."""

from . import wording
from .verdicts import Judge

POLES = ("caudal_pole_thickness", "cranial_pole_thickness", "maximum_thickness")


def beside(judge: Judge, order: list) -> list:
    """[{"about", "text", "source", "known"}] for the values of one unit, by the circumstances on record."""
    made = []
    for effect in judge.tables.context["effects"]:
        if effect["species"] != judge.animal["species"] or not _holds(effect, judge.exam["context"]):
            continue
        for name in order:
            if _is_about(effect, name):
                made.append({"about": name, "text": effect["words"]} | _source(effect, judge))
    return made


def _holds(effect: dict, context: dict) -> bool:
    """Whether the circumstance was recorded; a drug counts where its name stands among the words of an entry."""
    given = context.get(effect["field"])
    entries = given if isinstance(given, list) else [given]
    for entry in entries:
        if isinstance(entry, str) and any(
            [value in entry.lower().replace(",", " ").split() for value in effect["values"]]
        ):
            return True
    return False


def _is_about(effect: dict, name: str) -> bool:
    if effect["quantities"] == "adrenal":
        return name[:8] == "adrenal." and name.split(".")[-1] in POLES
    return name in effect["quantities"]


def _source(effect: dict, judge: Judge) -> dict:
    """The short citation and how it is known; from the row of the limits table where one is named."""
    if effect.get("row"):
        row = judge.limits.by_id[effect["row"]]
        return {"source": wording.source_words(judge.limits.sources[row["source"]]), "known": row["known"]}
    source = wording.source_words(effect["source"]) if effect["source"] else "common practice, no source"
    return {"source": source, "known": effect["known"]}
