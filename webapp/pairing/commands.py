"""`flask --app webapp phones | add-phone | revoke-phone`: the devices that may send and read."""

from datetime import UTC, datetime

import click
from flask.cli import with_appcontext

from webapp.pairing import listing
from webapp.store import phones
from webapp.store.db import get_db, write


@click.command("phones", epilog="Example: flask --app webapp phones")
@with_appcontext
def phones_command() -> None:
    """List every phone: id, name, whose, what it may, last contact, what it had not sent then."""
    for row in listing.rows(get_db(), datetime.now(UTC)):
        told = [row["state_words"], f"last contact {row['contact']}", f"not sent: {row['unsent']['words']}"]
        click.echo(f"{row['id']}  {row['name']}, {row['person']}: {'; '.join(told)}")


@click.command(
    "add-phone",
    epilog='Example: flask --app webapp add-phone "Blue phone" --address https://gelside.lan:8443',
)
@click.argument("name")
@click.option("--address", default="http://127.0.0.1:8000", show_default=True, help="Where phones reach this server.")
@with_appcontext
def add_phone(name: str, address: str) -> None:
    """Let a phone send and read; prints its link, which is shown this once."""
    token = phones.new_token()
    phones.add(get_db(), name, token)
    click.echo(f"{address.rstrip('/')}/#phone={token}")


@click.command("revoke-phone", epilog="Example: flask --app webapp revoke-phone 9f86d081884c7d65")
@click.argument("phone")
@with_appcontext
def revoke_phone(phone: str) -> None:
    """From now on PHONE (its id, as `phones` lists it) may only hand over what it still has; then it clears itself."""
    db = get_db()
    known = phones.by_id(db, phone)
    if known is None:
        raise click.ClickException(f"There is no phone {phone} here; `phones` lists them.")
    with write(db):
        phones.revoke(db, phone)
    click.echo(f"{known['name']} is revoked. It locks at its next contact and hands over what it has.")


COMMANDS = (phones_command, add_phone, revoke_phone)
