"""The practice's settings: what may stand in instance/config.toml, what it means, what it is when it does not.

A setting that is not known, or not of its kind, stops the start with a sentence: a limit that was mistyped and
silently left out would be worse.
"""

import difflib
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import urlsplit

import click
from flask import current_app
from flask.cli import with_appcontext

from webapp.core.spelling import SPELLINGS

FILE = "config.toml"


class SettingsError(click.ClickException):
    """config.toml cannot be used; the message names the setting and what it must be. Commands print it and end."""


class Setting(NamedTuple):
    """`must` says what it must be, `fits` looks whether it is, `words` what it does."""

    default: Any
    words: str
    must: str
    fits: Callable[[Any], bool]


def _whole(least: int, most: int) -> tuple[str, Callable[[Any], bool]]:
    return f"a whole number from {least} to {most}", lambda given: type(given) is int and least <= given <= most


def _texts(given: Any) -> bool:
    return isinstance(given, list) and bool(given) and all(isinstance(one, str) and one for one in given)


def _text(given: Any) -> bool:
    return isinstance(given, str) and bool(given)


def _address(given: Any) -> bool:
    if not isinstance(given, str):
        return False
    parts = urlsplit(given)
    return parts.scheme in ("http", "https") and bool(parts.netloc) and parts.path in ("", "/") and not parts.query


SETTINGS = {
    "DATABASE": Setting("", "where the practice's file lies, if not beside this one", "a path", _text),
    "PHONE_ADDRESS": Setting(
        "",
        "where phones reach this server; without it, where the desk reaches it",
        'like "https://gelside.lan"',
        _address,
    ),
    "SPELLING": Setting(
        "british",
        "how the program's own words are written; what a person types is never touched",
        " or ".join(f'"{name}"' for name in SPELLINGS),
        lambda given: given in SPELLINGS,
    ),
    "SPEECH": Setting(
        "off",
        "whether phones may listen by the browser's speech interface; audio then leaves the practice",
        '"off" or "browser"',
        lambda given: given in ("off", "browser"),
    ),
    "SNOMED": Setting(
        "off",
        "whether exports name organs and measures by SNOMED CT codes besides words; not free in every country",
        '"off" or "on"',
        lambda given: given in ("off", "on"),
    ),
    "SESSION_IDLE_MINUTES": Setting(30, "a session at the desk ends after so long without use", *_whole(1, 720)),
    "SESSION_HOURS": Setting(8, "a session at the desk ends after so long in any case", *_whole(1, 24)),
    "PHOTO_LARGEST_BYTES": Setting(32 * 1024 * 1024, "a photo or clip is no larger", *_whole(100_000, 1024**3)),
    "REQUESTS_PER_MINUTE": Setting(1200, "one phone sends and fetches no oftener", *_whole(60, 1_000_000)),
    "RECOGNISER": Setting(
        None,
        "a program here that turns clips into text: its name and arguments; the clip's path is added",
        'like ["/usr/local/bin/hears", "--plain"]',
        _texts,
    ),
    "BUSY_TIMEOUT_MS": Setting(5000, "how long a request waits for another that writes", *_whole(100, 60_000)),
    "PROXIES": Setting(0, "how many reverse proxies stand before this server, whose word is taken", *_whole(0, 3)),
    "TRUSTED_HOSTS": Setting(
        None, "the only names under which this server answers; without it, any", 'like ["gelside.lan"]', _texts
    ),
    "SECRET_KEY_FALLBACKS": Setting(
        None, "earlier keys of sessions, while secret_key is being changed", "a list of texts", _texts
    ),
}


def read(folder: Path) -> dict[str, Any]:
    """All settings: those in the folder's config.toml, and the rest as they come. Raises SettingsError."""
    path = folder / FILE
    try:
        given = tomllib.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
        raise SettingsError(f"{path} cannot be read: {error}") from error
    check(given, str(path))
    return {name: given.get(name, setting.default) for name, setting in SETTINGS.items()}


def check(given: dict[str, Any], where: str) -> None:
    """Raise SettingsError for the first setting that is not known or not as it must be."""
    for name, value in given.items():
        if name not in SETTINGS:
            like = difflib.get_close_matches(name.upper(), SETTINGS, 1)
            known = f"Did you mean {like[0]}?" if like else f"There are {', '.join(SETTINGS)}."
            raise SettingsError(f"{where}: {name} is no setting. {known}")
        if not SETTINGS[name].fits(value):
            raise SettingsError(f"{where}: {name} is {value!r}; it must be {SETTINGS[name].must}.")


@click.command("settings", epilog="Example: flask --app webapp settings")
@with_appcontext
def command() -> None:
    """Print every setting of config.toml: its value now, what it does, what it may be."""
    folder = Path(current_app.instance_path)
    for name, value in read(folder).items():
        setting = SETTINGS[name]
        now = "not set" if value in (None, "") else f'"{value}"' if isinstance(value, str) else str(value)
        click.echo(f"{name} = {now}\n    {setting.words}; {setting.must}")
    click.echo(f"\nThey are read from {folder / FILE} when the server starts.")
