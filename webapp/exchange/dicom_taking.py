"""What a person takes from a DICOM file becomes entries of the desk: a number as a reading, a picture as a still with
its scale, a distance on a still as a reading. Each names the hash of the file and who took it."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from webapp.exchange.distance import Distance, Point, Region
from webapp.photos import files, register
from webapp.store import desk, erasures, exams, kept, meta
from webapp.store.db import write

PNG = "image/png"


class CannotTake(ValueError):
    """Nothing was recorded; the message says why."""


def still_text(file_hash: str) -> str:
    return f"still with its scale, from the DICOM file {file_hash}"


def keep_still(
    db: Database, folder: Path, exam: str, author: str, picture: bytes, told: Mapping[str, Any]
) -> str:
    """Keep a picture with its scale as an attachment of the exam; the entry's id, the former one's where the same still
    is attached already. Raises CannotTake, files.PhotoError, LookupError."""
    name = told["picture_hash"]
    if erasures.photo_is_gone(db, name):
        raise CannotTake("This picture was erased here on purpose, so it is not taken in again.")
    with write(db):
        known = next((entry["id"] for entry in stills(db, exam) if entry["body"]["hash"] == name), None)
        if known is not None:
            return str(known)
        patient = exams.fold(db, exam).exam["patient_id"]
        files.take_whole(folder, name, picture)
        register.note(db, folder, name, meta.get(db, "desk_device"))
        body = {
            "about": "exam",
            "hash": name,
            "type": PNG,
            "size": len(picture),
            "width": told["width"],
            "height": told["height"],
            "text": still_text(told["hash"]),
            "from_file": told["hash"],
            "regions": told["regions"],
        }
        return desk.act(db, "attached", body, author=author, exam=exam, patient=patient)


def stills(db: Database, exam: str) -> list[dict[str, Any]]:
    """The entries of an exam that attached a picture with its scale and that nobody struck."""
    entries = [row.entry for row in kept.of_exam(db, exam)]
    struck = {name for entry in entries if entry["kind"] == "struck" for name in entry["of"]}
    return [entry for entry in entries if entry["kind"] == "attached" and entry["body"]
            and _sound(entry["body"]) and entry["id"] not in struck]


def _sound(body: Mapping[str, Any]) -> bool:
    """Whether an attachment is a still with a scale; entries come from anywhere."""
    try:
        return bool(regions(body["regions"])) and files.is_name(body["hash"]) and bool(body["from_file"])
    except (KeyError, TypeError, ValueError, ArithmeticError):
        return False


def marked(name: str) -> str:
    """How a reading names the still it was read on, as one of the machine's; its note has the whole hash."""
    return f"still {name[:12]}"


def written(regions: Sequence[Region]) -> list[dict[str, Any]]:
    """Regions as an entry holds them: whole numbers, and mm for a pixel as decimal text or null."""
    return [{"left": one.left, "top": one.top, "right": one.right, "bottom": one.bottom,
             "across": None if one.across is None else format(one.across, "f"),
             "down": None if one.down is None else format(one.down, "f")} for one in regions]


def regions(rows: Sequence[Mapping[str, Any]]) -> list[Region]:
    """The same back."""
    made = []
    for row in rows:
        corners = [int(row[name]) for name in ("left", "top", "right", "bottom")]
        scale = [Decimal(row[name]) if row[name] else None for name in ("across", "down")]
        made.append(Region(*corners, *scale))  # type: ignore[arg-type]
    return made


def keep_distance(
    db: Database, still: Mapping[str, Any], found: Distance, points: tuple[Point, Point], quantity: str,
    more: Mapping[str, str], author: str,
) -> str:
    """Record a distance on a still as a reading; the entry's id.

    A further one of the same measure on the same still is no new acquisition, and is recorded as such.
    """
    exam, name = str(still["exam"]), str(still["body"]["hash"])
    with write(db):
        folded = exams.fold(db, exam).exam
        mark = marked(name)
        again = any(row["image"] == mark and row["quantity"] == quantity and not row["struck"]
                    for row in folded["readings"])
        (one, other), region = points, found.region
        body = {
            "about": quantity,
            "value": str(found.mm),
            "unit": "mm",
            "typed": str(found.mm),
            "typed_unit": "mm",
            "acquired": "same_frame" if again else "new_image",
            "image": mark,
            "note": f"two points on the still {name}: column {one[0]}, row {one[1]} and column {other[0]}, row "
                    f"{other[1]}; standard uncertainty by the pixels {found.uncertainty} mm",
            **more,
        }
        if region.down is not None:
            # By these two the rules add the pixel's part to the uncertainty of the mean.
            rows = region.bottom - region.top + 1
            body |= {"depth_mm": format((region.down * rows).quantize(Decimal("0.01")), "f"), "rows": str(rows)}
        return desk.act(db, "read", body, author=author, exam=exam, patient=folded["patient_id"], of=[still["id"]])


def source_of(file_hash: str, place: int) -> str:
    """How a reading names the number of a report that it was taken from."""
    return f"number {place} of the DICOM report {file_hash}"


def taken(db: Database, exam: str, file_hash: str) -> dict[int, str]:
    """{place of a number of the report: entry of the reading made of it} for readings that stand."""
    found = {}
    for row in exams.fold(db, exam).exam["readings"]:
        note = str(row["note"] or "")
        if not row["struck"] and note.startswith("number ") and f"of the DICOM report {file_hash}" in note:
            place = note.split(" ", 2)[1]
            if place.isdecimal():
                found[int(place)] = str(row["id"])
    return found


def keep_number(db: Database, exam: str, file_hash: str, row: Mapping[str, Any], quantity: str, author: str) -> str:
    """Record a number of a report as a reading; the entry's id. Raises CannotTake, LookupError."""
    if row["refused"]:
        raise CannotTake(f"This number cannot be taken: {row['refused']}.")
    with write(db):
        if int(row["place"]) in taken(db, exam, file_hash):
            raise CannotTake("This number was taken in already; strike that reading first.")
        body = {
            "about": quantity,
            "value": row["value"],
            "unit": row["unit"],
            "typed": row["typed"],
            "typed_unit": row["typed_unit"],
            "note": f"{source_of(file_hash, int(row['place']))}, in its words: {row['words']}",
        }
        patient = exams.fold(db, exam).exam["patient_id"]
        return desk.act(db, "read", body, author=author, exam=exam, patient=patient)
