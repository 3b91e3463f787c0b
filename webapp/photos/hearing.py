"""Turning recorded clips into text by a program of the practice's own, on this machine.

`RECOGNISER` in config.toml names it with its arguments; the clip's path comes last, its text is read from standard
output. No shell, no network of ours. What it hears is shown at the desk as machine text, goes into no report, and
becomes part of the record only when a person keeps it under their own name.
"""

import subprocess
import tempfile
import threading
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import click
from flask import current_app
from flask.cli import with_appcontext
from sqlite_utils import Database

from webapp.photos import files
from webapp.store import heard
from webapp.store.db import get_db

LIMIT_S = 120
MOST_BYTES = 64 * 1024
LONGEST = 4000  # characters: a minute of speech has about 900


class Outcome(NamedTuple):
    """What became of one clip: its hash, and why it has no text, or None."""

    clip: str
    problem: str | None


def hear_all(db: Database, folder: Path, command: Sequence[str]) -> Iterator[Outcome]:
    """Let the program hear every clip that has no text yet. A clip that fails stays as it is, for the next time."""
    for entry in heard.clips(db):
        name = entry["body"]["hash"]
        path = files.path_of(folder, name)
        if not path.is_file():
            yield Outcome(name, "its bytes have not come yet")
            continue
        text, problem = _heard(command, path)
        if text is not None:
            heard.keep(db, name, text, command[0], datetime.now(UTC).isoformat(timespec="seconds"))
        yield Outcome(name, problem)


def _heard(command: Sequence[str], clip: Path) -> tuple[str | None, str | None]:
    """The text, or what went wrong."""
    try:
        given, complaint, code = _run([*command, str(clip.resolve())])
    except FileNotFoundError:
        return None, f"{command[0]} is not on this machine"
    except OSError as error:
        return None, str(error)
    if len(given) > MOST_BYTES:
        return None, f"{command[0]} said more than {MOST_BYTES} bytes: nothing was kept"
    if code != 0:
        said = complaint.decode("utf-8", "replace").strip().splitlines()
        return None, f"{command[0]} ended with {code}: {said[-1] if said else 'it said nothing, or took too long'}"
    text = " ".join(given.decode("utf-8", "replace").split())
    text = "".join(letter for letter in text if letter.isprintable())[:LONGEST]
    return (text, None) if text else (None, f"{command[0]} heard nothing")


def _run(command: Sequence[str]) -> tuple[bytes, bytes, int]:
    """What the program gave (a little over MOST_BYTES where it gave more), its last complaint, how it ended. It has
    LIMIT_S seconds; what says too much or takes too long is stopped."""
    with tempfile.TemporaryFile() as complaints:
        program = subprocess.Popen(  # noqa: S603 - the practice's own command, as a list, without a shell
            command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=complaints
        )
        clock = threading.Timer(LIMIT_S, program.kill)
        clock.start()
        try:
            given = program.stdout.read(MOST_BYTES + 1) if program.stdout else b""
            if len(given) > MOST_BYTES:
                program.kill()
        finally:
            if program.stdout:
                program.stdout.close()
            code = program.wait()
            clock.cancel()
        complaints.seek(max(0, complaints.tell() - 2000))
        return given, complaints.read(2000), code


@click.command("hear", epilog="Example: flask --app webapp hear")
@with_appcontext
def command() -> None:
    """Turn recorded clips into machine text with the program that the setting RECOGNISER names."""
    recogniser = current_app.config["RECOGNISER"]
    if not recogniser:
        raise click.ClickException("No RECOGNISER is set in config.toml: people write down what they hear.")
    outcomes = list(hear_all(get_db(), files.folder_of(current_app.config["DATABASE"]), recogniser))
    for outcome in outcomes:
        if outcome.problem:
            click.echo(f"clip {outcome.clip[:12]}: {outcome.problem}", err=True)
    click.echo(f"{sum(not outcome.problem for outcome in outcomes)} of {len(outcomes)} clips heard")
