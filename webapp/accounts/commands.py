"""Commands about people, for whoever sits at the server: who there is, a new password, no sign-in any more."""

from collections.abc import Callable
from typing import TypeVar

import click
from flask.cli import with_appcontext

from webapp import clock, dates
from webapp.store import people, roles, sessions
from webapp.store.db import get_db

T = TypeVar("T")


@click.command("people", epilog="Example: flask --app webapp people")
@with_appcontext
def list_people() -> None:
    """List everyone: id, name, roles, whether and when they last signed in."""
    db = get_db()
    rows = people.listed(db)
    for row in rows:
        last = sessions.last_of(db, row["id"])
        state = "can sign in" if row["can_sign_in"] else "stopped" if row["stopped_at"] else "no password"
        signed_in = f", last signed in {dates.moment(last['started_at'])}" if last else ""
        click.echo(f"{row['id']}\t{row['name']}\t{row['role']}\t{state}{signed_in}")
    if not rows:
        click.echo('Nobody yet: add-person RD "R. Dale" reviewer')


@click.command("add-person", epilog='Example: flask --app webapp add-person RD "R. Dale" reviewer,admin')
@click.argument("person")
@click.argument("name")
@click.argument("role")
@click.option("--password", prompt=True, hide_input=True, confirmation_prompt=True)
@with_appcontext
def add_person(person: str, name: str, role: str, password: str) -> None:
    """Add PERSON (the id authors carry, such as VS) with NAME and ROLE, or change a known one.

    ROLE is sonographer, assistant, reviewer (may sign; also written vet), admin or reader, or several with commas:
    reviewer,admin. The first person who can sign in becomes admin too.
    """
    held = _tried(lambda: people.add(get_db(), person, name, role, password))
    sessions.end_all(get_db(), person, clock.now(), "password changed at the server")
    click.echo(f"{person} ({name}) can sign in: {roles.text(held)}.")


@click.command("set-password", epilog="Example: flask --app webapp set-password RD")
@click.argument("person")
@click.option("--password", prompt=True, hide_input=True, confirmation_prompt=True)
@with_appcontext
def set_password(person: str, password: str) -> None:
    """Give PERSON a new password, asking for it; all sessions of that person end. Also lets in who was stopped."""
    _tried(lambda: people.set_password(get_db(), person, password))
    sessions.end_all(get_db(), person, clock.now(), "password changed at the server")
    click.echo(f"{person} can sign in with the new password.")


@click.command("stop-person", epilog="Example: flask --app webapp stop-person RD")
@click.argument("person")
@with_appcontext
def stop_person(person: str) -> None:
    """Let PERSON sign in no more; entries go on naming the person."""
    _tried(lambda: people.stop(get_db(), person))
    sessions.end_all(get_db(), person, clock.now(), "stopped at the server")
    click.echo(f"{person} cannot sign in any more.")


def _tried(act: Callable[[], T]) -> T:
    try:
        return act()
    except people.PersonError as error:
        raise click.ClickException(str(error)) from error


COMMANDS = (list_people, add_person, set_password, stop_person)
