"""`flask --app webapp tls NAME...`: certificates for the practice's own network, and what to do with them."""

import io
import ipaddress
import shlex
from pathlib import Path

import click
import segno
from flask import Blueprint, Flask, Response, current_app, send_file
from flask.cli import with_appcontext

from webapp import tls
from webapp.store import meta
from webapp.store.db import get_db

blueprint = Blueprint("tls", __name__)

STEPS = """
On each phone, once:
  1. Scan the QR code, or open {address}/authority.crt
     The phone warns, because it does not know this authority yet: go on to the page all the same.
  2. iPhone, iPad: "Allow" the profile. Settings > General > VPN & Device Management: choose
     "{title}", Install. Then Settings > General > About > Certificate Trust Settings:
     switch it on under full trust. Without this last step Safari goes on warning.
     Android: Settings, search for "CA certificate", choose "Install anyway", then the downloaded file. The phone needs
     a screen lock. Android says from then on that the network may be monitored: this authority is believed
     for {names} only, and its key stays on this server.
  3. Compare the fingerprint (SHA-256) where the phone shows it:
     {fingerprint}
  4. Open {address} : no warning. Put the app on the home screen, then pair it from the desk's page Phones.

The server's certificate holds until {until}; the same command renews it, and phones need nothing new. When it has
ended, phones go on writing and cannot send until it is renewed. Without it: a public name and a certificate by
DNS-01 (any ACME client), or a reverse proxy that has one; then set PHONE_ADDRESS in instance/config.toml.
"""

# Where only this machine opens it, there is no phone to set up.
STEPS_HERE = """
In a browser on this machine, once:
  1. Let it trust the authority {authority}
     Chromium, Chrome, Edge on Linux: certutil (Debian's libnss3-tools) puts it among their authorities:
     mkdir -p ~/.pki/nssdb
     certutil -d sql:$HOME/.pki/nssdb -A -t C,, -n gelside -i {quoted}
     Firefox: Settings > Privacy & Security > View Certificates > Authorities > Import, to identify websites.
     macOS, Windows: open {der} and add it to the trusted root authorities.
  2. Compare the fingerprint (SHA-256) where the browser shows it:
     {fingerprint}
  3. Open {address}/phones , sign in and press "Pair a new phone". The phone is another window of the browser
     at {address} : no warning, "pair this phone" stands on its first page.

The authority is believed for {names} only, and its key stays on this machine. The server's certificate holds until
{until}; the same command renews it.
"""


def init_app(app: Flask) -> None:
    """Add the command and the address at which phones fetch the authority's certificate."""
    app.register_blueprint(blueprint)
    app.cli.add_command(command)


@blueprint.get("/authority.crt")
def authority() -> Response | tuple[str, int]:
    """The authority's certificate: public, and what a phone must be told to trust."""
    path = _folder() / tls.FOR_PHONES
    if not path.is_file():
        return "This practice has no certificate authority of its own.\n", 404
    return send_file(path, mimetype="application/x-x509-ca-cert", download_name="gelside-authority.crt")


@click.command("tls", epilog="Example: flask --app webapp tls gelside.lan 192.168.1.20")
@click.argument("names", nargs=-1, required=True)
@click.option("--port", default=8443, show_default=True, help="The port that phones open.")
@click.option("--host", help="The address to listen on; else all of this machine's, for localhost none but its own.")
@with_appcontext
def command(names: tuple[str, ...], port: int, host: str | None) -> None:
    """Make or renew certificates for the NAMES (or addresses) that phones open, first the one for the QR code."""
    folder = _folder()
    practice = meta.get(get_db(), "practice")
    try:
        made = tls.make(folder, list(names), practice)
    except (tls.TlsError, OSError) as error:
        raise click.ClickException(str(error)) from error
    address = f"https://{_in_address(names[0])}:{port}"
    click.echo(f"Certificates for {', '.join(names)} lie in {folder}.")
    click.echo("Every phone must trust the new authority." if made.new_authority else "The authority is as it was.")
    here = all(_is_this_machine(name) for name in names)
    listens = host or ("127.0.0.1" if here else "0.0.0.0")  # noqa: S104  phones come from the network
    serve = shlex.join(tls.serve_command(folder, listens, port))
    start = f"GELSIDE_INSTANCE={shlex.quote(current_app.instance_path)} {serve}"
    click.echo(f"\nStart the server from the project's folder with:\n\n{start}\n")
    if not here:
        click.echo(terminal_qr(f"{address}/authority.crt"))
    click.echo(
        (STEPS_HERE if here else STEPS).format(
            address=address,
            authority=folder / tls.AUTHORITY,
            quoted=shlex.quote(str(folder / tls.AUTHORITY)),
            der=folder / tls.FOR_PHONES,
            title=f"Gelside authority of {practice}"[:64],
            names=", ".join(names),
            fingerprint=made.fingerprint,
            until=made.until.date().isoformat(),
        )
    )


def _is_this_machine(name: str) -> bool:
    """Whether no other machine can open this name."""
    try:
        return ipaddress.ip_address(name).is_loopback
    except ValueError:
        return name.lower() == "localhost"


def terminal_qr(text: str) -> str:
    """A QR code out of block characters."""
    out = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(out, border=2, compact=True)
    return out.getvalue()


def _folder() -> Path:
    return Path(current_app.instance_path) / "tls"


def _in_address(name: str) -> str:
    return f"[{name}]" if ":" in name else name
