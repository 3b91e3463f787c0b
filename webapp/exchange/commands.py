"""`flask --app webapp export-readings`: what the desk gives out, for who works at the server."""

from pathlib import Path

import click
from flask.cli import with_appcontext

from webapp.exchange import readings_csv
from webapp.store import behind
from webapp.store.db import get_db, read


@click.command("export-readings", epilog="Example: flask --app webapp export-readings day.csv --day 2026-11-24")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--animal", help="Of one animal: its id, as the address of its page shows it.")
@click.option("--day", help="Of one day, as 2026-11-24.")
@with_appcontext
def export_readings(file: Path, animal: str | None, day: str | None) -> None:
    """Write readings to a new CSV FILE, a row for each, struck ones too, with limits and what the rules said."""
    if animal and day:
        raise click.ClickException("Give --animal or --day, not both.")
    db = get_db()
    behind.renew(db)
    with read(db):
        if animal:
            names = readings_csv.of_animal(db, animal)
        else:
            names = readings_csv.of_day(db, day) if day else readings_csv.everything(db)
        if not names:
            raise click.ClickException("There is no exam that fits, so no file was written.")
        try:
            with file.open("x", encoding="utf-8", newline="") as out:
                out.writelines(readings_csv.lines(db, names))
        except OSError as error:
            raise click.ClickException(str(error)) from error
    click.echo(f"{file}: the readings of {len(names)} exam{'s' if len(names) > 1 else ''}")


COMMANDS = (export_readings,)
