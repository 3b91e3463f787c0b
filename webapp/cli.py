"""The practice's commands: `flask --app webapp ...`."""

import json
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import click
from flask import Flask, current_app
from flask.cli import with_appcontext

from webapp import rules
from webapp.photos import files, register
from webapp.store import behind, chain, exams, heads, learned, meta, overlays
from webapp.store.db import get_db, write


def init_app(app: Flask) -> None:
    """Add the commands to `flask --app webapp`."""
    for command in (assess, phrase, reference, verify, rebuild, name_practice, seed_demo):
        app.cli.add_command(command)


@click.command("assess", epilog="Example: flask --app webapp assess case.json")
@click.argument("case", type=click.Path(dir_okay=False, allow_dash=True))
@click.option("--practice", is_flag=True, help="By this practice's own limits, grades and learned spread.")
@with_appcontext
def assess(case: str, practice: bool) -> None:
    """Judge the CASE in a JSON file (- reads standard input) and print the judgement.

    By the published tables, so that a case is judged alike on every machine.
    """
    try:
        text = sys.stdin.read() if case == "-" else Path(case).read_text(encoding="utf-8")
        # Numbers keep their digits: no float enters a judgement.
        given = json.loads(text, parse_float=str, parse_constant=_no_number)
        question = {"do": "assess", "case": _as_text(given)}
        answer = _as_here(question) if practice else rules.call(question)
    except (OSError, ValueError, RecursionError) as error:
        click.echo(f"{case}: {' '.join(str(error).split())}", err=True)
        sys.exit(2)
    click.echo(json.dumps(answer, ensure_ascii=False, indent=1))


def _as_here(question: dict[str, Any]) -> dict[str, Any]:
    """The answer by what this practice has changed and learned."""
    db = get_db()
    return rules.call(question | {"learned": learned.in_use(db)}, overlays.in_force(db))


def _no_number(text: str) -> Any:
    raise ValueError(f"{text} is no number")


def _as_text(value: Any) -> Any:
    """Whole numbers too large for the phone's engine as text; all else as it is."""
    if isinstance(value, dict):
        return {key: _as_text(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_as_text(item) for item in value]
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) >= 2**31:
        return str(value)
    return value


@click.command("phrase", epilog='Example: flask --app webapp phrase --species dog "la cd 4.2 4.3"')
@click.option("--species", required=True, help="dog or cat: what is asked goes by where its values mostly lie.")
@click.option("--unit", default="mm", show_default=True, help="The machine's unit, mm or cm, meant by shorthand.")
@click.argument("text")
def phrase(species: str, unit: str, text: str) -> None:
    """Read the TEXT of said or typed words and print the proposals that a person would accept one by one."""
    try:
        answer = rules.call({"do": "phrase", "text": text, "species": species, "unit": unit})
    except ValueError as error:
        click.echo(f"phrase: {' '.join(str(error).split())}", err=True)
        sys.exit(2)
    click.echo(json.dumps(answer, ensure_ascii=False, indent=1))


@click.command("reference", epilog="Example: flask --app webapp reference healthy.txt --upper 6.0")
@click.argument("values", type=click.File(encoding="utf-8"))
@click.option("--lower", help="The lower limit of a published interval to verify.")
@click.option("--upper", help="The upper limit of a published interval to verify.")
def reference(values: Any, lower: str | None, upper: str | None) -> None:
    """Say what the VALUES of healthy animals, one a line in a file (- is standard input), tell of a reference interval.

    One quantity, one species, one weight class; one value an animal. With --lower or --upper a published interval is
    verified from 20 animals on; an own one, by ranks, is given from 120 on. No value is dropped.
    """
    texts = [line.strip() for line in values if line.strip()]
    bounds = [lower, upper] if lower or upper else None
    try:
        answer = rules.call({"do": "reference", "values": texts, "bounds": bounds})
    except ValueError as error:
        click.echo(f"reference: {' '.join(str(error).split())}", err=True)
        sys.exit(2)
    click.echo(json.dumps(answer, ensure_ascii=False, indent=1))


@click.command("verify", epilog="Example: flask --app webapp verify")
@click.option("--head", help="A head from a report or a backup's name, such as 412-9f86d081884c7d65.")
@with_appcontext
def verify(head: str | None) -> None:
    """Check every entry, every chain, the heads and the photos; exit 1 if something does not fit."""
    try:
        faults = chain.verify(get_db(), _progress("entries"), head)
    except ValueError as error:
        raise click.ClickException(str(error)) from error
    photos = register.faults(get_db(), files.folder_of(current_app.config["DATABASE"]), _progress("photos"))
    faults += [chain.Fault(grave, text) for grave, text in photos]
    for fault in faults:
        click.echo(("CHANGED  " if fault.grave else "look at  ") + fault.text)
    total = next(get_db().query("select count(*) as n from entries"))["n"]
    click.echo(f"{total} entries, head {heads.now(get_db()).text}, {len(faults)} faults")
    if faults:
        sys.exit(1)


def _progress(what: str) -> Callable[[int, int], None]:
    """Tells on standard error how far a check is, every so often and at the end."""

    def tell(done: int, total: int) -> None:
        if done % chain.STEP == 0 or done == total:
            click.echo(f"{done} of {total} {what} looked at", err=True)

    return tell


@click.command("rebuild", epilog="Example: flask --app webapp rebuild --check")
@click.option("--check", is_flag=True, help="Only compare; exit 1 if the lists are not what the journal gives.")
@with_appcontext
def rebuild(check: bool) -> None:
    """Make the lists anew from the journal."""
    if not check:
        click.echo(f"{exams.rebuild(get_db())} exams rebuilt")
        return
    behind.renew(get_db())
    lines = exams.differences(get_db())
    for line in lines:
        click.echo(line)
    click.echo("The lists equal the journal." if not lines else f"{len(lines)} differences")
    if lines:
        sys.exit(1)


LONGEST_NAME = 80


@click.command("name-practice", epilog='Example: flask --app webapp name-practice "Vets at the Harbour"')
@click.argument("name")
@with_appcontext
def name_practice(name: str) -> None:
    """Give the practice the NAME that stands on reports, on phones and on a certificate authority made later."""
    name = " ".join(name.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise click.ClickException(f"A practice's name has 1 to {LONGEST_NAME} characters.")
    with write(get_db()) as db:
        meta.put(db, "practice", name)
    click.echo(f"The practice is called {name}.")


@click.command("seed-demo", epilog="Example: flask --app webapp seed-demo --today 2026-11-24")
@click.option("--today", default=lambda: date.today().isoformat(), help="The day of today's list.")
@with_appcontext
def seed_demo(today: str) -> None:
    """Fill the store with the invented practice of demo/."""
    from demo.seed import seed  # the demo is no part of the installed package

    click.echo(seed(current_app, today))
