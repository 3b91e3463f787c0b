"""Names and reasons that look like markup stay text on the pages of the own reference."""

from collections.abc import Callable

from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.attacks.markup import EVERYTHING, MARKS, Look
from tests.own_reference.practice import KIDNEY, Desk, arrive, exam
from webapp.store import healthy

Enter = Callable[..., FlaskClient]


def test_markup_in_names_and_reasons_stays_text(db: Database, sign_in: Enter) -> None:
    phone = exam("40", name=EVERYTHING, breed=EVERYTHING)
    arrive(db, phone)
    browser = sign_in()
    assert Desk(browser).mark(str(phone.exam), EVERYTHING).status_code == 302
    healthy.say(db, healthy.of_value(str(phone.exam), KIDNEY), {"counted": False, "why": EVERYTHING}, "RD", "")
    for address in ("/own-reference", f"/own-reference/exam/{phone.exam}", Desk(browser).address()):
        look = Look(browser.get(address).text)
        assert look.found == [], address
        assert all(mark in look.text for mark in MARKS), address
