"""`flask --app webapp erase | retention`: taking bodies away for good, and what is how old.

By default nothing is ever deleted. What is erased stays in copies made before, on phones until they clear it, and in
reports that were issued: the command says so.
"""

from datetime import UTC, date, datetime
from typing import Any

import click
from flask import current_app
from flask.cli import with_appcontext
from sqlite_utils import Database

from webapp.photos import files
from webapp.store import behind, erasures, people
from webapp.store.db import get_db

LEAST_WHY = 10  # characters: who reads it in ten years must understand it


@click.command(
    "erase",
    epilog='Example: flask --app webapp erase 9f86d081884c --by RD --why "Written about the wrong owner."',
)
@click.argument("entry", nargs=-1)
@click.option("--exam", multiple=True, help="All entries of this exam.")
@click.option("--animal", multiple=True, help="The animal's record, visits and exams.")
@click.option("--by", "who", required=True, help="The id of the person who decided it.")
@click.option("--why", required=True, help="The reason, in words; it is kept for good.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@with_appcontext
def erase_command(
    entry: tuple[str, ...], exam: tuple[str, ...], animal: tuple[str, ...], who: str, why: str, yes: bool
) -> None:
    """Erase the bodies of entries (ENTRY: ids, or 12 or more of their first digits) and photos that only they name.

    Headers stay: the chain and the head still prove all else. Nothing brings a body back but a copy made before.
    """
    db = get_db()
    behind.renew(db)
    try:
        ids = [one for name in entry for one in erasures.of_entry(db, name)]
        ids += erasures.of_exams(db, exam) + [one for name in animal for one in erasures.of_animal(db, name)]
    except erasures.Unknown as error:
        raise click.ClickException(str(error.args[0])) from error
    if not ids:
        raise click.UsageError("Name entries, --exam or --animal.")
    _erase(db, list(dict.fromkeys(ids)), who, why, yes)


@click.command("retention", epilog="Example: flask --app webapp retention 10")
@click.argument("years", type=click.IntRange(1, 100))
@click.option("--erase", is_flag=True, help="Erase the bodies of all entries of these exams.")
@click.option("--by", "who", default="", help="With --erase: the id of the person who decided it.")
@click.option("--why", default="", help="With --erase: the reason, in words; it is kept for good.")
@click.option("--yes", is_flag=True, help="With --erase: do not ask.")
@with_appcontext
def retention_command(years: int, erase: bool, who: str, why: str, yes: bool) -> None:
    """List the exams to which nothing was added for YEARS years. They are kept for ever unless --erase is said: the
    law of the place says how long records must be kept, and this program does not know it."""
    db = get_db()
    rows = older_than(db, years, datetime.now(UTC).date())
    for row in rows:
        click.echo(f"{row['exam']}  last entry {row['last'][:10]}  {row['standing']} of {row['entries']} bodies kept")
    click.echo(f"{len(rows)} exams without an entry for {years} years.")
    if erase and rows:
        _erase(db, erasures.of_exams(db, [row["exam"] for row in rows]), who, why, yes)


def older_than(db: Database, years: int, today: date) -> list[dict[str, Any]]:
    """Exams whose newest entry arrived more than `years` years ago: exam, last, entries, standing (bodies)."""
    before = today.replace(year=today.year - years, day=min(today.day, 28)).isoformat()
    query = (
        "select exam, max(received_at) as last, count(*) as entries, sum(why is not 'erased') as standing "
        "from entries where exam is not null group by exam having max(received_at) < ? order by last, exam"
    )
    return list(db.query(query, [before]))


def _erase(db: Database, ids: list[str], who: str, why: str, yes: bool) -> None:
    """Ask, erase, and say what still holds it."""
    if people.by_id(db, who) is None:
        raise click.ClickException(f"--by names the person who decided it; {who!r} is nobody here.")
    why = " ".join(why.split())
    if len(why) < LEAST_WHY:
        raise click.ClickException(f"--why gives the reason in words, {LEAST_WHY} characters or more.")
    if not yes:
        click.confirm(f"Erase the bodies of {len(ids)} entries for good?", abort=True)
    db.execute("pragma secure_delete=on")  # SQLite else leaves the bytes in free pages
    done = erasures.erase(db, ids, who, why, datetime.now(UTC).isoformat(timespec="seconds"))
    db.execute("pragma wal_checkpoint(truncate)")  # and in the log
    folder = files.folder_of(current_app.config["DATABASE"])
    for photo in done.photos:
        files.remove(folder, photo)
    click.echo(f"{len(done.ids)} bodies erased, {len(done.photos)} photos or clips with them.")
    for exam, version in done.reports:
        click.echo(f"still shown in the issued report of exam {exam}, version {version}")
    for exam, number in done.preliminary:
        click.echo(f"still shown in preliminary report {number} of exam {exam}")
    for exam, number in done.for_owners:
        click.echo(f"still shown, it may be, in page {number} for the owner of exam {exam}")
    click.echo("Copies made before still hold what was erased: make a new one, and delete those when you may.")
    click.echo("Phones keep their own entries until they clear sent exams; a restored old copy must be erased again.")


COMMANDS = (erase_command, retention_command)
