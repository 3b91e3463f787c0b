"""Focal findings from one exam to the next: what to find again, and the sizes then and now."""

from . import decimals, sentences
from .verdicts import Judge

FOCAL = ("mass", "nodule", "cyst", "stone", "mineral", "foreign_body")


def of_exam(exam: dict) -> list:
    """The focal findings that count, as later exams look for them."""
    return [row for row in exam["findings"] if row["finding"] in FOCAL and not row.get("struck")]


def find_again(structures: list, exam: dict, earlier: list, judge: Judge) -> list:
    """Open items for focal findings of the latest earlier exam that nobody has described in this one."""
    if not earlier:
        return []
    names = [structure["id"] for structure in structures]
    made = []
    for then in earlier[0]["lesions"]:
        if then["structure"] in names and _now(then, exam) is None:
            words = _words(then, judge) + " on " + str(earlier[0]["date"]) + ": look for it again"
            item = judge.open_item(then["structure"], "find_again", words)
            item["finding"], item["number"], item["site"] = then["finding"], then.get("number"), then.get("site")
            made.append(item)
    return made


def compared(structures: list, exam: dict, earlier: list, judge: Judge) -> list:
    """[{"structure", "finding", "number", "now", "then", "date", "words"}]: sizes side by side, without a verdict.

    Nothing is published on how well such sizes repeat here, so a difference is shown and not judged.
    """
    if not earlier:
        return []
    names = [structure["id"] for structure in structures]
    made = []
    for then in earlier[0]["lesions"]:
        now = _now(then, exam) if then["structure"] in names else None
        if now is None or not now.get("dimensions") or not then.get("dimensions"):
            continue
        made.append(
            {
                "structure": then["structure"],
                "finding": then["finding"],
                "number": then.get("number"),
                "now": now["dimensions"],
                "then": then["dimensions"],
                "date": earlier[0]["date"],
                "words": _largest_words(now, then, str(earlier[0]["date"])),
            }
        )
    return made


def _now(then: dict, exam: dict) -> dict | None:
    """The finding of this exam that is the same one: structure, kind and number (none counts as the only one)."""
    for row in of_exam(exam):
        same = row["structure"] == then["structure"] and row["finding"] == then["finding"]
        if same and (row.get("number") or 1) == (then.get("number") or 1):
            return row
    return None


def _words(row: dict, judge: Judge) -> str:
    told = sentences.Told(row["structure"], {"states": [], "findings": [], "readings": []}, [], judge.catalogue)
    return judge.catalogue.label(row["structure"]) + ", " + sentences.finding_words(row, told)


def _largest_words(now: dict, then: dict, date: str) -> str:
    """The largest axis then and now, and the difference; not judged."""
    new, old = _largest(now), _largest(then)
    gap = decimals.sub(new, old)
    sign = "+" if gap[0] > 0 else ""
    return (
        "largest axis "
        + decimals.show(old, 1)
        + " mm on "
        + date
        + ", now "
        + decimals.show(new, 1)
        + " mm ("
        + sign
        + decimals.show(gap, 1)
        + " mm; how well this repeats is not known)"
    )


def _largest(row: dict) -> tuple[int, int]:
    size = decimals.parse(row["dimensions"][0])
    for axis in row["dimensions"][1:]:
        size = decimals.larger(size, decimals.parse(axis))
    return size
