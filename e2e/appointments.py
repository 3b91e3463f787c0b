"""What the practice's desks write about animals and visits, as their entries: for tests that look at the phone."""

import hashlib
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from typing import Any

from sqlite_utils import Database

from e2e.servers import Server
from webapp import create_app
from webapp.store import desk, entries, journal, planned
from webapp.store.db import get_db, write
from webapp.store.entries import Act, Place

AUTHOR = "IF"
OTHER_AUTHOR = "RD"
OTHER_DESK = hashlib.sha256(b"a second desk of the tests").hexdigest()[:32]


class Appointments:
    """Acts of a desk on one practice's store."""

    def __init__(self, db: Database) -> None:
        self.db = db
        self.today = date.today().isoformat()
        standing = planned.of_day(db, self.today).planned
        self.visits = {str(entry["body"]["patient"]["name"]): entry for entry in standing}

    def patient(self, name: str) -> str:
        return str(self.visits[name]["patient"])

    def record(
        self, kind: str, body: dict[str, Any], patient: str, of: Sequence[str] = (), after: Sequence[str] = ()
    ) -> str:
        return desk.act(self.db, kind, body, author=AUTHOR, patient=patient, of=of, after=after)

    def fact(self, name: str, field: str, value: Any, **more: Any) -> str:
        """A fact of the animal's record."""
        return self.record("set", {"about": f"patient.{field}", "value": value, **more}, self.patient(name))

    def change(self, name: str, field: str, value: Any, after: Sequence[str] = ()) -> str:
        """A change of the animal's visit of today."""
        body = {"about": f"visit.{field}", "value": value}
        return self.record("set", body, self.patient(name), of=[self.visits[name]["id"]], after=after)

    def change_elsewhere(self, name: str, field: str, value: Any) -> str:
        """The same at a second desk that has seen nothing of the first one's changes."""
        act = Act("set", {"about": f"visit.{field}", "value": value}, OTHER_AUTHOR, desk.now(),
                  patient=self.patient(name), of=(self.visits[name]["id"],))
        with write(self.db):
            envelope = entries.make(act, Place(OTHER_DESK, 1, entries.NO_PREVIOUS))
            return str(journal.append(self.db, [envelope], arrived_from="desk")[0].id)

    def merge(self, gone: tuple[str, str], name: str) -> str:
        """The record (id, name) is one with the animal's of today."""
        body = {"about": "patient", "from": {"id": gone[0], "name": gone[1], "species": "dog"},
                "into": {"id": self.patient(name), "name": name, "species": "dog"}, "why": "one animal, written twice"}
        return self.record("merged", body, self.patient(name))


@contextmanager
def at_the_desk(server: Server) -> Iterator[Appointments]:
    """Write into the practice's store beside its running server."""
    before = os.environ.get("GELSIDE_INSTANCE")
    os.environ["GELSIDE_INSTANCE"] = str(server.instance)
    try:
        with create_app().app_context():
            yield Appointments(get_db())
    finally:
        os.environ.pop("GELSIDE_INSTANCE")
        if before is not None:
            os.environ["GELSIDE_INSTANCE"] = before
