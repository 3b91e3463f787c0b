"""What people of the practice may be. A person holds one role or several; the text kept is "reviewer, admin"."""

ROLES = {
    "sonographer": "examines and records; writes at the desk, does not sign",
    "assistant": "keeps animals, visits and requests",
    "reviewer": "reviews exams and may sign reports",
    "admin": "looks after people, phones and limits; sees no exam and alters no entry",
    "reader": "reads exams and reports, changes nothing",
}
# Stood for everything at the desk before there were roles; what was set up with it goes on.
FORMER = {"vet": "reviewer"}
ADMIN = "admin"


class RoleError(ValueError):
    """A text that names no roles; the message says which there are."""


def parse(text: str) -> tuple[str, ...]:
    """The roles named in a text, apart by commas or spaces, in the order of ROLES. Raises RoleError."""
    unknown = sorted(_words(text) - set(ROLES))
    if unknown or not _words(text):
        wrong = f'"{unknown[0]}" is no role' if unknown else "A person needs a role"
        raise RoleError(f"{wrong}: choose from {', '.join(ROLES)}.")
    return held(text)


def held(text: str) -> tuple[str, ...]:
    """The roles that a kept text gives; what is no role gives nothing."""
    return tuple(role for role in ROLES if role in _words(text))


def text(roles: tuple[str, ...]) -> str:
    """How roles are kept and shown."""
    return ", ".join(roles)


def _words(text: str) -> set[str]:
    return {FORMER.get(word, word) for word in text.replace(",", " ").split()}
