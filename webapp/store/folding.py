"""An exam as its entries tell it, not judged: where the judgement would cost time and nobody asks for it."""

from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.core.catalogue import Catalogue
from webapp.core.journal import Journal
from webapp.store import kept


def exam_of(db: Database, exam_id: str, catalogue: Catalogue | None = None) -> dict[str, Any]:
    """The exam as the rules fold it (DEVELOPERS.md, "The exam"); an empty one where nobody sent an entry of it."""
    journal = Journal(catalogue or Catalogue(rules.tables()["catalogue"]))
    journal.add([row.entry for row in kept.of_exam(db, exam_id)])
    return dict(journal.exam())
