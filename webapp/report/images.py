"""The machine's own number of the picture behind a reading, so that who wants to see for himself finds it."""

from . import measured, sides, wording
from .case import Case, Json


def numbers(case: Case) -> Json | None:
    """One line; None where there is no number to tell. Of what is flagged or was found reading by reading: "LEFT
    adrenal: caudal pole thickness image 12 (7.4, 7.6), 13 (7.3)"; of what else was asked in a row: "Kidney: LEFT 20 to
    23". A finding names its own in its line. The others stand at the desk and in the exports: nobody looks them
    up from paper, and a normal report stays one page.
    """
    told: list[str] = []
    asked: dict[str, list[str]] = {}
    for structure in case.reading_order:
        rows = [row for row in case.live("readings") if measured.structure_of(case, row) == structure]
        pictures = _of_structure(case, structure)
        if _matters(case, structure, rows):
            told += _in_full(case, rows)
        elif structure in case.asked:
            pictures += [str(row["image"]) for row in rows if row.get("image")]
        else:
            continue
        if pictures:
            label = case.label(structure)
            name = sides.without_side(label)
            side = label.partition(" ")[0] + " " if name != label else ""
            asked.setdefault(name, []).append(side + _in_a_row(pictures))
    told += [f"{name}: {', '.join(spans)}" for name, spans in asked.items()]
    if not told:
        return None
    text = wording.sentence("; ".join(told))
    return {"kind": "fact", "label": "Images (the machine's own numbers)", "text": text, "small": True}


def _of_structure(case: Case, structure: str) -> list[str]:
    """Pictures of the structure as a whole."""
    given = (case.exam.get("fields") or {}).get(f"{structure}.images")
    return [str(image) for image in given] if isinstance(given, list) else []


def _matters(case: Case, structure: str, rows: list[Json]) -> bool:
    """Whether somebody may want the very picture of one value: the rules flag it, or something was found there."""
    found = [row for row in case.live("findings") if row["structure"] == structure and row["finding"] != "none"]
    flagged = {flag["about"] for flag in case.judgement.get("flags") or [] if flag.get("grade") != "note"}
    measures = {row["quantity"] for row in rows}
    worked_out = {name for name in flagged if (case.quantities.get(name) or {}).get("structure") == structure}
    return bool(found or flagged & ({structure} | measures | worked_out))


def _in_full(case: Case, rows: list[Json]) -> list[str]:
    """A line for each structure or lesion, its measures in a row."""
    by_measure: dict[tuple[str, str], list[Json]] = {}
    for row in rows:
        by_measure.setdefault(_named(case, row), []).append(row)
    told: dict[str, list[str]] = {}
    for (whose, measure), taken in by_measure.items():
        read: dict[str, list[str]] = {}
        for row in taken:
            read.setdefault(str(row.get("image") or ""), []).append(_amount(row))
        pictures = [
            image + (f" ({', '.join(amounts)})" if len(read) > 1 else "") for image, amounts in read.items() if image
        ]
        if pictures:
            told.setdefault(whose, []).append(f"{measure} image {', '.join(pictures)}".lstrip())
    return [f"{whose}: {', '.join(measures)}" for whose, measures in told.items()]


def _named(case: Case, row: Json) -> tuple[str, str]:
    """ ("LEFT adrenal", "caudal pole thickness"), or of a lesion ("RIGHT adrenal, mass 1", "length")."""
    whose, _, measure = case.label(row["quantity"]).partition(", ")
    return measured.lesion_name(case, str(row["lesion"])) if row.get("lesion") else whose, measure


def _amount(row: Json) -> str:
    return wording.with_unit(row["value"], None if row["unit"] == "mm" else row["unit"])


def _in_a_row(pictures: list[str]) -> str:
    """ "20 to 23 and 31": each once, three or more that follow each other as a span."""
    runs: list[list[str]] = []
    for image in dict.fromkeys(pictures):
        if runs and _next(runs[-1][-1]) == image:
            runs[-1].append(image)
        else:
            runs.append([image])
    pieces = [piece for run in runs for piece in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else run)]
    return wording.several(pieces)


def _next(image: str) -> str:
    """The number that follows, "" where it is none or is written with noughts before it."""
    return str(int(image) + 1) if image.isascii() and image.isdecimal() and str(int(image)) == image else ""
