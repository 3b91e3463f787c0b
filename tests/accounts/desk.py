"""People with one role each, signed in, for the tests of this folder."""

from collections.abc import Callable

from flask.testing import FlaskClient
from sqlite_utils import Database
from werkzeug.routing import Rule

from tests.builders import EXAM
from tests.conftest import PASSWORD
from webapp.store import people, roles

IDS = {role: role[:4].upper() for role in roles.ROLES}


def one_of_each(db: Database) -> None:
    """Add a person for each role, named "Only sonographer" and so on."""
    for role, person in IDS.items():
        people.add(db, person, f"Only {role}", role, PASSWORD)


def as_role(db: Database, sign_in: Callable[..., FlaskClient], role: str) -> FlaskClient:
    """A browser in which someone with this role alone is signed in."""
    if people.by_id(db, IDS[role]) is None:
        one_of_each(db)
    return sign_in(IDS[role])


def address(rule: Rule) -> str:
    """An address of the rule, its places filled with what need not exist."""
    values = {name: {"version": 1, "number": 1, "form": "html"}.get(name, EXAM) for name in rule.arguments}
    built = rule.build(values, append_unknown=False)
    assert built is not None
    return built[1]
