"""Find it again: how a structure was reached in the last exam (window, position, depth, image), to be reached so again.

Nothing is judged by it, and no value of then is told: nobody should be led by it before the probe is on.
"""

from . import sentences
from .tables import Tables


def of_exam(exam: dict, tables: Tables) -> dict:
    """{structure: words}: only of structures where a person recorded how; "" never occurs."""
    told = {}
    by_structure: dict = {}
    for reading in exam["readings"]:
        if not reading.get("struck"):
            by_structure.setdefault(_structure_of(reading, tables), []).append(reading)
    findings: dict = {}
    for finding in exam["findings"]:
        if not finding.get("struck") and finding.get("image"):
            findings.setdefault(finding["structure"], []).append(finding)
    for structure in tables.unit_of:
        words = _words(structure, by_structure.get(structure, []), findings.get(structure, []), exam, tables)
        if words:
            told[structure] = words
    return told


def of_unit(structures: list, earlier: list) -> list:
    """[{"structure", "date", "words"}] from the latest earlier exam that says how each structure was reached."""
    made = []
    for structure in structures:
        for exam in earlier:
            words = exam["reached"].get(structure["id"])
            if words:
                made.append({"structure": structure["id"], "date": exam["date"], "words": words})
                break
    return made


def _structure_of(reading: dict, tables: Tables) -> str:
    structure = tables.catalogue.quantity(reading["quantity"])["structure"]
    return structure or str(reading.get("lesion") or "").split("#")[0]


def _words(structure: str, readings: list, findings: list, exam: dict, tables: Tables) -> str:
    fields = exam.get("fields") or {}
    labels = {}
    for window in tables.windows["structures"].get(structure, {}).get("windows", []):
        labels[window["id"]] = window["label"]
    pieces = [labels.get(one, one.replace("_", " ")) for one in _different(readings, "window")]
    if not pieces:
        tried = fields.get(structure + ".windows_tried") or []
        pieces = ["tried: " + sentences.several([labels.get(one, one) for one in tried])] if tried else []
    pieces += [_lying(one) for one in _different(readings, "recumbency")]
    pieces += [one + " from the probe" for one in _different(readings, "distance")]
    pieces += ["depth " + one + " mm" for one in _different(readings, "depth_mm")]
    pictures = _images(readings, findings, fields.get(structure + ".images"), tables)
    if pictures:
        pieces.append("image " + ", ".join(pictures))
    return ", ".join(pieces)


def _different(readings: list, name: str) -> list:
    found: list = []
    for reading in readings:
        values = reading.get(name)
        for value in values if isinstance(values, list) else [values]:
            if value and str(value) not in found:
                found.append(str(value))
    return found


def _lying(recumbency: str) -> str:
    return recumbency if recumbency == "standing" else recumbency + " recumbency"


def _images(readings: list, findings: list, of_structure: object, tables: Tables) -> list:
    """ "14 (caudal pole thickness)": each number once, with what it shows."""
    made: list = [str(one) for one in of_structure] if isinstance(of_structure, list) else []
    for reading in readings:
        if reading.get("image"):
            shows = tables.catalogue.label(reading["quantity"]).partition(", ")[2]
            _once(made, reading["image"] + (" (" + shows + ")" if shows else ""))
    for finding in findings:
        number = " " + str(finding["number"]) if finding.get("number") else ""
        _once(made, finding["image"] + " (" + finding["finding"].replace("_", " ") + number + ")")
    return made


def _once(made: list, words: str) -> None:
    if words not in made:
        made.append(words)
