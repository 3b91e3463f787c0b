"""The vet's work on an exam before signing, as entries of the desk: answer, impression, recommendations,
reasons for flags, and which of two versions holds."""

from collections.abc import Sequence
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.review import words
from webapp.review.content import SECOND_READ
from webapp.store import desk, exams, kept, reasons, reports
from webapp.store.db import write
from webapp.store.entries import Act


class Signed(Exception):
    """The exam was signed meanwhile, so this was not recorded; the message says by whom and when."""


class Unknown(Exception):
    """Something named in a form is not there (any more); the message says what."""


class Draft(NamedTuple):
    """What a vet has written: None for `answered` means not answered; `answers` = {(about, kind): reason};
    `second_read`: whether the second reader's words go into the report."""

    answered: str | None
    impression: str
    recommendations: list[dict[str, Any]]
    answers: dict[tuple[str, str], str]
    second_read: bool = False


def record(db: Database, exam_id: str, draft: Draft, author: str, seen: int) -> list[str]:
    """Record what differs from the exam as the vet saw it (`seen`: newest arrival on the page).

    Returns the new entries' ids. Something another person recorded meanwhile stays beside it as a
    fork. Raises Signed when the exam was signed meanwhile: then nothing is recorded.
    """
    with write(db):
        refuse_if_signed(db, exam_id)
        folded = exams.fold(db, exam_id, through=seen)
        exam = folded.exam
        wanted: list[tuple[str, Any]] = []
        if (draft.answered or None) != exam["question"].get("answered"):
            wanted.append(("question.answered", draft.answered or None))
        if draft.impression.strip() != str(exam["fields"].get("impression") or ""):
            wanted.append(("impression", draft.impression.strip()))
        if not _same(draft.recommendations, exam["fields"].get("recommendations") or []):
            wanted.append(("recommendations", draft.recommendations))
        if draft.second_read != (exam["fields"].get(SECOND_READ) is True):
            wanted.append((SECOND_READ, draft.second_read))
        acts = [_set(db, exam_id, exam, about, value, author, seen) for about, value in wanted]
        acts += _acknowledge(exam_id, folded, draft.answers, author)
        return desk.record(db, acts)


def _same(rows: list[dict[str, Any]], recorded: Any) -> bool:
    """Whether these are the recommendations that are recorded: a field that is empty says no more than one left out,
    so that rows written before parts and planes were asked for are not recorded anew."""

    def told(row: Any) -> Any:
        return {key: value for key, value in row.items() if value} if isinstance(row, dict) else row

    return isinstance(recorded, list) and [told(row) for row in rows] == [told(row) for row in recorded]


def _set(db: Database, exam_id: str, exam: dict[str, Any], about: str, value: Any, author: str, seen: int) -> Act:
    after = of_slot(db, exam_id, about, seen)
    body = {"about": about, "value": value}
    return Act("set", body, author, desk.now(), exam_id, exam["patient_id"], None, tuple(after))


def _acknowledge(exam_id: str, folded: exams.Folded, answers: dict[tuple[str, str], str], author: str) -> list[Act]:
    acts = []
    asked = {}
    for row in reasons.answerable(folded.exam, folded.judgement):
        asked[row["about"], row["kind"]] = row
    for flag in asked.values():
        reason = answers.get((flag["about"], flag["kind"]), "").strip()
        if reason:
            body = {"about": flag["about"], "flag": flag["kind"], "reason": reason}
            behind = tuple(reasons.records_behind(flag, folded.exam))
            patient = folded.exam["patient_id"]
            acts.append(Act("acknowledged", body, author, desk.now(), exam_id, patient, of=behind))
    return acts


def of_slot(db: Database, exam_id: str, slot: str, seen: int) -> list[str]:
    """Every entry of the slot that stood on the page: the new one names them as what its author could see."""
    wanted = ("seen", slot[5:]) if slot.startswith("seen:") else ("set", slot)
    return [
        row.entry["id"]
        for row in kept.of_exam(db, exam_id)
        if row.arrival <= seen and row.entry["body"] and (row.entry["kind"], row.entry["body"].get("about")) == wanted
    ]


def refuse_if_signed(db: Database, exam_id: str) -> None:
    """Raises Signed, by whom and when, once a report of the exam was issued."""
    issued: Sequence[dict[str, Any]] = reports.versions(db, exam_id)
    if issued:
        last = issued[-1]
        raise Signed(
            f"{last['signer_name']} signed version {last['version']} of this exam on "
            f"{words.moment(last['issued_at'])}. Add what is missing as an addendum."
        )
