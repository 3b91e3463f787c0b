"""The vet's work on an exam before signing, as entries of the desk: answer, impression, recommendations,
reasons for flags, and which of two versions holds."""

from collections.abc import Sequence
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import desk, exams, kept, reasons, reports
from webapp.store.db import write
from webapp.store.entries import Act


class Signed(Exception):
    """The exam was signed meanwhile, so this was not recorded; the message says by whom and when."""


class Unknown(Exception):
    """Something named in a form is not there (any more); the message says what."""


class Draft(NamedTuple):
    """What a vet has written: None for `answered` means not answered; `answers` = {(about, kind): reason}."""

    answered: str | None
    impression: str
    recommendations: list[dict[str, Any]]
    answers: dict[tuple[str, str], str]


def record(db: Database, exam_id: str, draft: Draft, author: str, seen: int) -> list[str]:
    """Record what differs from the exam as the vet saw it (`seen`: newest arrival on the page).

    Returns the new entries' ids. Something another person recorded meanwhile stays beside it as a
    fork. Raises Signed when the exam was signed meanwhile: then nothing is recorded.
    """
    with write(db):
        _refuse_if_signed(db, exam_id)
        folded = exams.fold(db, exam_id, through=seen)
        exam = folded.exam
        wanted: list[tuple[str, Any]] = []
        if (draft.answered or None) != exam["question"].get("answered"):
            wanted.append(("question.answered", draft.answered or None))
        if draft.impression.strip() != str(exam["fields"].get("impression") or ""):
            wanted.append(("impression", draft.impression.strip()))
        if draft.recommendations != (exam["fields"].get("recommendations") or []):
            wanted.append(("recommendations", draft.recommendations))
        acts = [_set(db, exam_id, exam, about, value, author, seen) for about, value in wanted]
        acts += _acknowledge(exam_id, folded, draft.answers, author)
        return desk.record(db, acts)


def _set(db: Database, exam_id: str, exam: dict[str, Any], about: str, value: Any, author: str, seen: int) -> Act:
    after = _of_slot(db, exam_id, about, seen)
    body = {"about": about, "value": value}
    return Act("set", body, author, desk.now(), exam_id, exam["patient_id"], None, tuple(after))


def _acknowledge(exam_id: str, folded: exams.Folded, answers: dict[tuple[str, str], str], author: str) -> list[Act]:
    acts = []
    asked = {}
    for row in reasons.to_answer(folded.exam, folded.judgement):
        asked[row["about"], row["kind"]] = row
    for flag in asked.values():
        reason = answers.get((flag["about"], flag["kind"]), "").strip()
        if reason:
            body = {"about": flag["about"], "flag": flag["kind"], "reason": reason}
            behind = tuple(reasons.records_behind(flag, folded.exam))
            patient = folded.exam["patient_id"]
            acts.append(Act("acknowledged", body, author, desk.now(), exam_id, patient, of=behind))
    return acts


def _of_slot(db: Database, exam_id: str, slot: str, seen: int) -> list[str]:
    """Every entry of the slot that stood on the page: the new one names them as what its author could see."""
    wanted = ("seen", slot[5:]) if slot.startswith("seen:") else ("set", slot)
    return [
        row.entry["id"]
        for row in kept.of_exam(db, exam_id)
        if row.arrival <= seen and row.entry["body"] and (row.entry["kind"], row.entry["body"].get("about")) == wanted
    ]


def settle(db: Database, exam_id: str, slot: str, chosen: str, author: str, seen: int) -> str:
    """Record that of a fork's versions the `chosen` entry's holds, by saying it again after both.

    Returns the new entry's id. Raises Unknown when there is no such fork (any more), Signed when signed.
    """
    with write(db):
        _refuse_if_signed(db, exam_id)
        exam = exams.fold(db, exam_id).exam
        fork = next((row for row in exam["forks"] if row["slot"] == slot), None)
        if fork is None or chosen not in [row["id"] for row in fork["values"]]:
            raise Unknown("There are no two versions of this to settle any more.")
        entry = next(row.entry for row in kept.of_exam(db, exam_id) if row.entry["id"] == chosen)
        # A move of the exam to another animal names what gives way to it as well: that goes on giving way.
        after = tuple(dict.fromkeys([*_of_slot(db, exam_id, slot, seen), *entry["after"]]))
        act = Act(entry["kind"], entry["body"], author, desk.now(), exam_id, entry["patient"], None, after)
        return desk.record(db, [act])[0]


def _refuse_if_signed(db: Database, exam_id: str) -> None:
    issued: Sequence[dict[str, Any]] = reports.versions(db, exam_id)
    if issued:
        last = issued[-1]
        raise Signed(
            f"{last['signer_name']} signed version {last['version']} of this exam at "
            f"{last['issued_at'][11:16]} on {last['issued_at'][:10]}. Add what is missing as an addendum."
        )
