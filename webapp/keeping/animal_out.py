"""Everything that is held of one animal as one zip: for its owner, another practice, or an old file elsewhere.

`journal.json` is a journal file that `import` takes in; `photos/` holds the photos and clips that its entries name;
`reports/` every report as it was issued; `READ ME.txt` says what is what and what is missing. Owners' facts are inside.
"""

import json
import re
import zipfile
from pathlib import Path
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.photos import files
from webapp.store import animals, erasures, meta, owner_pages, preliminaries, reports
from webapp.store.db import read
from webapp.sync.protocol import PROTOCOL

ABOUT = """{name}: everything that {practice} holds of this animal, given out on {day}.

journal.json   {entries} entries, one act each, as they were written. Gelside takes the file in with "import".
reports/       {reports} reports, to the byte as they were issued, as PDF, page and plain text;
               beside them every page that was made for the owner.
photos/        {photos} photos and clips, named by the SHA-256 of their bytes.
{missing}
Gelside keeps measurements and compares them with published limits. It makes no diagnosis; a licensed vet interprets.
"""


class GivenOut(NamedTuple):
    """How many of each went into the file, and photos that entries name and that are not here."""

    entries: int
    reports: int
    photos: int
    missing: list[str]


def journal_file(db: Database, patient: str) -> dict[str, Any]:
    """The animal's entries, its record's and its exams', in order of arrival, in the form of a phone's journal file.
    Erased ones are left out. Raises erasures.Unknown."""
    ids = [one for name in animals.one_with(db, [patient]) for one in _of(db, name, patient)]
    query = (
        "select header, body from entries where id in (select value from json_each(?)) and why is not 'erased' "
        "order by arrival"
    )
    rows = [{"header": row["header"], "body": row["body"]} for row in db.query(query, [json.dumps(ids)])]
    return {"gelside": "journal", "protocol": PROTOCOL, "device": meta.get(db, "desk_device"), "entries": rows}


def _of(db: Database, name: str, asked: str) -> list[str]:
    try:
        return erasures.of_animal(db, name)
    except erasures.Unknown:
        if name == asked:
            raise
        return []  # a merged record without an entry of its own


def write_zip(db: Database, photo_folder: Path, patient: str, target: Path, day: str) -> GivenOut:
    """Write the zip to a new file. Raises erasures.Unknown, FileExistsError, OSError; a half file is taken away."""
    with read(db):
        journal = journal_file(db, patient)
        issued = _reports(db, patient)
        shown = str((animals.record(db, patient) or {}).get("shown") or "An animal without a name")
        practice = meta.get(db, "practice")
    with target.open("xb") as file:
        try:
            with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
                packed.writestr("journal.json", json.dumps(journal, ensure_ascii=False, indent=1))
                for name, data in issued:
                    packed.writestr(f"reports/{name}", data)
                photos, missing = _photos(packed, photo_folder, journal["entries"])
                reports_in = sum("-version-" in name and name.endswith(".pdf") for name, _ in issued)
                made = GivenOut(len(journal["entries"]), reports_in, photos, missing)
                packed.writestr("READ ME.txt", _about(shown, practice, day, made))
        except BaseException:
            target.unlink()
            raise
    return made


def _reports(db: Database, patient: str) -> list[tuple[str, str | bytes]]:
    found: list[tuple[str, str | bytes]] = []
    for name in animals.one_with(db, [patient]):
        for exam in db.query("select exam, date from exams where patient = ? order by date, exam", [name]):
            for row in reports.versions(db, exam["exam"]):
                whole = reports.version(db, exam["exam"], row["version"]) or row
                stem = f"{exam['date'] or 'undated'}-{exam['exam'][:13]}-version-{row['version']}"
                for ending, column in (("pdf", "pdf"), ("html", "html"), ("txt", "plain")):
                    found.append((f"{stem}.{ending}", whole[column]))
            for made in preliminaries.of(db, exam["exam"]):
                whole = preliminaries.one(db, exam["exam"], made["number"]) or made
                stem = f"{exam['date'] or 'undated'}-{exam['exam'][:13]}-preliminary-{made['number']}"
                for ending, column in (("pdf", "pdf"), ("html", "html"), ("txt", "plain")):
                    found.append((f"{stem}.{ending}", whole[column]))
            found += _owner_pages(db, exam["exam"], exam["date"] or "undated")
    return found


def _owner_pages(db: Database, exam: str, date: str) -> list[tuple[str, str | bytes]]:
    """Every page that was made for the owner, switched off since or not."""
    made = [owner_pages.page(db, exam, row["number"]) for row in owner_pages.all_of(db, exam)]
    stems = {f"{date}-{exam[:13]}-owner-{row['number']}": row for row in made if row}
    files = (("pdf", "pdf"), ("html", "html"), ("txt", "plain"))
    return [(f"{stem}.{ending}", row[column]) for stem, row in stems.items() for ending, column in files]


def _photos(packed: zipfile.ZipFile, folder: Path, entries: list[dict[str, str]]) -> tuple[int, list[str]]:
    """Put in every photo that an entry names; how many, and those that are not here."""
    attached = [one["body"] for one in entries if json.loads(one["header"]).get("kind") == "attached"]
    names = sorted({found for body in attached for found in re.findall(r'"hash":"([0-9a-f]{64})"', body)})
    here = [name for name in names if files.path_of(folder, name).is_file()]
    for name in here:
        path = files.path_of(folder, name)
        ending = {"image/jpeg": ".jpg", "image/png": ".png"}.get(files.kind_of(path) or "", "")
        packed.write(path, f"photos/{name}{ending}", zipfile.ZIP_STORED)
    return len(here), [name for name in names if name not in here]


def _about(name: str, practice: str, day: str, made: GivenOut) -> str:
    missing = ""
    if made.missing:
        missing = "\nNamed by entries and not here: " + ", ".join(photo[:12] for photo in made.missing) + "\n"
    return ABOUT.format(
        name=name,
        practice=practice,
        day=day,
        entries=made.entries,
        reports=made.reports,
        photos=made.photos,
        missing=missing,
    )
