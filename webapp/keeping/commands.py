"""`flask --app webapp backup | restore | import`: the practice's file out, back, and a journal file in."""

import sys
from datetime import date
from pathlib import Path

import click
from flask import current_app
from flask.cli import with_appcontext

from webapp.keeping import animal_out, backup, importing, restore
from webapp.photos import files
from webapp.store import behind, erasures
from webapp.store.db import get_db

IN_THE_WAY = (backup.BackupError, restore.InUse, importing.ImportProblem, OSError)


@click.command("backup", epilog="Example: flask --app webapp backup /safe/place")
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@with_appcontext
def backup_command(folder: Path) -> None:
    """Copy the practice's file and photos into FOLDER, check the copy, print its path. The server may run."""
    try:
        made = backup.backup(get_db(), folder)
    except IN_THE_WAY as error:
        raise click.ClickException(str(error)) from error
    for fault in made.faults:
        click.echo(("CHANGED  " if fault.grave else "look at  ") + fault.text, err=True)
    click.echo(made.path)
    click.echo(f"{made.head.arrival} entries, head {made.head.text}, {made.photos} new photos", err=True)
    if any(fault.grave for fault in made.faults):
        sys.exit(1)


@click.command(
    "restore",
    epilog="Example: flask --app webapp restore /safe/place/gelside-20261124T223000Z-412-9f86d081884c7d65.sqlite3",
)
@click.argument("copy", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--even-damaged", is_flag=True, help="Take a copy that was changed by hand, if it is all there is.")
@with_appcontext
def restore_command(copy: Path, even_damaged: bool) -> None:
    """Make COPY the practice's file. Stop the server first; what is there now is kept under another name."""
    try:
        done = restore.restore(Path(current_app.config["DATABASE"]), copy, even_damaged=even_damaged)
    except IN_THE_WAY as error:
        raise click.ClickException(str(error)) from error
    for fault in done.faults:
        click.echo(("CHANGED  " if fault.grave else "look at  ") + fault.text, err=True)
    click.echo(f"Restored: {done.head.arrival} entries, head {done.head.text}.")
    if done.before:
        click.echo(f"What was there is kept as {done.before}.")
    if done.phones:
        click.echo(f"Phones send what is missing by themselves. Approve each at the desk: {', '.join(done.phones)}.")
    click.echo("Phones paired since the copy ask at the desk to be let in. What the desk did since is gone:")
    click.echo("the Records page lists those acts that later entries name.")


@click.command("import", epilog="Example: flask --app webapp import journal.json")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@with_appcontext
def import_command(file: Path) -> None:
    """Take in a journal FILE that a phone gave out; the same result as a push."""
    try:
        answer = importing.take(get_db(), file.read_bytes())
    except IN_THE_WAY as error:
        raise click.ClickException(str(error)) from error
    click.echo(importing.in_words(answer))


@click.command(
    "export-animal",
    epilog="Example: flask --app webapp export-animal 01999999-0000-7000-8000-00000000000a pepper.zip",
)
@click.argument("animal")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@with_appcontext
def export_animal_command(animal: str, file: Path) -> None:
    """Write everything held of ANIMAL (its id, as the desk's address of its page shows it) to a new zip FILE: the
    journal as `import` takes it, photos, reports as issued."""
    db = get_db()
    behind.renew(db)
    photos = files.folder_of(current_app.config["DATABASE"])
    try:
        made = animal_out.write_zip(db, photos, animal, file, date.today().isoformat())
    except (erasures.Unknown, OSError) as error:
        raise click.ClickException(str(error)) from error
    click.echo(f"{file}: {made.entries} entries, {made.reports} reports, {made.photos} photos and clips")
    for photo in made.missing:
        click.echo(f"not here: photo {photo[:12]}", err=True)


COMMANDS = (backup_command, restore_command, import_command, export_animal_command)
