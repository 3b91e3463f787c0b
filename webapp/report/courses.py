"""The courses of a few quantities over the exams, as small plots: what lies beyond a limit, or changed, first what was
asked about. Every value of a plot stands in its words too, for the plain text and for who cannot see it."""

from . import cells, measured, plots, wording
from .case import Case, Json

MOST = 2
_HEIGHT = 96  # of the frame, in units of the drawing: lower than the plots of the desk


def blocks(case: Case) -> list[Json]:
    """[{"kind": "plot", "title", "svg", "text"}]: two at most; every other change stands in the section's lines."""
    return [_block(_titled(case, case.courses[key])) for key in _chosen(case)[:MOST]]


def _titled(case: Case, series: Json) -> Json:
    """A lesion by the name of its place: "LEFT adrenal, nodule 1, length"."""
    quantity, _, lesion = str(series["id"]).partition("|")
    if not lesion:
        return series
    return series | {"title": f"{measured.lesion_name(case, lesion)}, {case.label(quantity).partition(', ')[2]}"}


def _block(series: Json) -> Json:
    said = [_row(row) for row in plots.rows(series)]
    return {
        "kind": "plot",
        "title": str(series["title"]),
        "svg": plots.drawing(series, _HEIGHT),
        "text": wording.sentence("; ".join(said)),
    }


def _row(row: plots.Row) -> str:
    """ "12 Feb 2026: 6.1 mm, readings 6.0, 6.1, 6.2, uncertainty ± 0.3 mm"."""
    notes = f" ({row.notes})" if row.notes else ""
    return f"{row.date}: {row.value}{notes}, {row.readings}, uncertainty {row.uncertainty}"


def _chosen(case: Case) -> list[str]:
    """Keys of the courses worth a picture, most telling first; of a gland the whole, not its poles beside it."""
    values = [value for value in case.judgement.get("values") or [] if _key(value) in case.courses]
    beyond = {flag["about"] for flag in case.flags(*cells.BEYOND)}
    told = [
        (_rank(case, value, beyond), place, value)
        for place, value in enumerate(values)
        if _rank(case, value, beyond) is not None
    ]
    chosen = [value for _, _, value in sorted(told, key=lambda row: (row[0], row[1]))]
    poles = {pole["quantity"] for value in chosen for pole in cells.poles_of(case, value)}
    return [_key(value) for value in chosen if value["quantity"] not in poles]


def _key(value: Json) -> str:
    return f"{value['quantity']}|{value['lesion']}" if value.get("lesion") else str(value["quantity"])


def _rank(case: Case, value: Json, beyond: set[str]) -> int | None:
    structure = str(value.get("lesion") or "").partition("#")[0] or (
        case.quantities.get(value["quantity"]) or {}
    ).get("structure")
    changed = (value.get("earlier") or {}).get("verdict") == "changed"
    if value.get("lesion"):
        return 1 if structure in case.asked else None
    if value["quantity"] not in beyond and not changed:
        return None
    return (0 if structure in case.asked else 2) + (0 if value["quantity"] in beyond else 1)
