"""Passwords: which are taken, and how they are kept.

After NIST SP 800-63B-4 (2025), 3.1.1: at least 15 characters where the password is the only proof, at least 64
allowed, any characters, no rules of composition, no change by the calendar, refused when it is among those that are
tried first. What is tried first is the judgement of zxcvbn, whose lists hold 30,000 common passwords.
"""

import secrets
import unicodedata
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerifyMismatchError
from werkzeug.security import check_password_hash
from zxcvbn import zxcvbn

SHORTEST = 15
LONGEST = 200
ADVICE = "Four words that do not belong together make a good one."
FEWEST_GUESSES = 10**8
HARD_LOOK = 72  # characters that the estimate is made from: its cost grows with the square
# Argon2id with 19 MiB, 2 passes, 1 lane: the setting of OWASP ASVS 5.0, appendix C, for small servers.
_hasher = PasswordHasher(time_cost=2, memory_cost=19456, parallelism=1)
_WORDS = "acfhjkmnprtuvwxy3479"  # no letter that is taken for another when read aloud or copied


class PasswordProblem(ValueError):
    """A password that is not taken; the message says why and what to do."""


def check(password: str, known: tuple[str, ...] = ()) -> None:
    """Raise PasswordProblem for a password that is too short, too long or easily guessed. `known`: words that
    whoever guesses would try first, such as the person's name and the practice's."""
    text = _form(password)
    if len(text) < SHORTEST:
        raise PasswordProblem(f"A password needs {SHORTEST} characters or more. {ADVICE}")
    if len(text) > LONGEST:
        raise PasswordProblem(f"A password has {LONGEST} characters at most.")
    told = [word for words in known for word in (words, *words.split()) if word]
    estimate = zxcvbn(text[:HARD_LOOK], user_inputs=["gelside", *told])
    if estimate["guesses"] < FEWEST_GUESSES:
        raise PasswordProblem(f"This password is among those that are tried first. {ADVICE}")


def made(password: str) -> str:
    """What is kept of a password."""
    return _hasher.hash(_form(password))


def fits(kept: str, password: str) -> bool:
    """Whether `password` is the one that `kept` was made from, in this or the former way of keeping."""
    if not kept.startswith("$argon2"):
        return check_password_hash(kept, password)
    try:
        return _hasher.verify(kept, _form(password))
    except VerifyMismatchError:
        return False


def outdated(kept: str) -> bool:
    """Whether `kept` was made in a way that is no longer the one in use."""
    try:
        return _hasher.check_needs_rehash(kept)
    except InvalidHashError:
        return True


def first() -> str:
    """A password for a first sign-in, which must be changed there: some 86 bits, easy to copy by hand."""
    groups = ("".join(secrets.choice(_WORDS) for _ in range(5)) for _ in range(4))
    return "-".join(groups)


@cache
def nobodys() -> str:
    """What an unknown name is checked against, so that it takes as long as a known one."""
    return made(secrets.token_hex(16))


def _form(password: str) -> str:
    """One form for what keyboards write in different ways."""
    return unicodedata.normalize("NFKC", password)
