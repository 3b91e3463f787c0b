"""Signing: freezes what the vet saw, to the byte, and says by content what the signature covers."""

import json
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp import rules
from webapp.core import contradictions
from webapp.core.catalogue import Catalogue
from webapp.review import drafting, recommended, trends
from webapp.store import desk, exams, heads, meta, people, reasons, reports
from webapp.store.db import write
from webapp.store.entries import Act

RECOMMENDATIONS = "recommendations"


class CannotSign(Exception):
    """The exam cannot be signed like this; `missing` names each thing in a sentence."""

    def __init__(self, missing: list[str]):
        super().__init__(" ".join(missing))
        self.missing = missing


class DoNotFit(CannotSign):
    """The words of an addendum do not fit the records; with a reason in `stands` they are signed as written."""


class Addendum(NamedTuple):
    """What a new version of a signed report says, and why. `status`: amended, corrected or appended; `stands`: why
    it stands as written where it does not fit the records; `added` and `ended` as `recommended.changed` takes them."""

    status: str
    reason: str
    text: str
    stands: str = ""
    added: Sequence[dict[str, Any]] = ()
    ended: Mapping[int, tuple[str, str]] = MappingProxyType({})

    def words(self) -> dict[str, str]:
        """What the entry `amended` holds: only what was written."""
        told = {"status": self.status, "reason": self.reason, "text": self.text, "stands": self.stands}
        return {name: said for name, said in told.items() if said}


def missing(folded: exams.Folded) -> list[str]:
    """What a signature still asks for, one sentence each; only what is missing."""
    exam = folded.exam
    found = []
    question = exam["question"]
    if (question.get("text") or question.get("structures")) and not question.get("answered"):
        found.append("Say whether the question is answered.")
    if not str(exam["fields"].get("impression") or "").strip():
        found.append("Write the impression.")
    waiting = len(reasons.unacknowledged(exam, folded.judgement))
    if waiting:
        found.append(f"Give a reason for {_many(waiting, 'look-again flag')} that nobody has answered.")
    unlike = len(reasons.unexplained(exam, folded.judgement))
    if unlike:
        found.append(f"Mend or explain {_many(unlike, 'thing')} recorded in ways that do not fit together.")
    if exam["forks"]:
        found.append(f"Settle {_many(len(exam['forks']), 'thing')} that two people recorded differently.")
    return found


def sign(
    db: Database,
    exam_id: str,
    signer: dict[str, Any],
    seen: int | None = None,
    own: list[str] | None = None,
    judged_by: str | None = None,
) -> int:
    """Sign the first version. `signer` = {id, name}; `seen` = newest arrival the signer looked at (all when
    None); `own` = ids of entries the signer made since; `judged_by` = version of the limits behind the flags that
    the signer looked at (those in force when None or empty). Returns the version.

    Raises CannotSign when something is missing, arrived or changed meanwhile, or the exam is signed already.
    """
    if reports.versions(db, exam_id):
        raise CannotSign([_already(db, exam_id)])
    folded = _as_seen(db, exam_id, seen, own or [])
    now = folded.judgement["limits_version"]
    if judged_by and judged_by != now:
        changed = f"The limits changed since you opened this page, {judged_by} to {now}: look at the flags anew."
        raise CannotSign([changed])
    asked = missing(folded)
    if asked:
        raise CannotSign(asked)
    return _issue(db, exam_id, folded, signer, "final", None)


def add(db: Database, exam_id: str, signer: dict[str, Any], addendum: Addendum, seen: int | None = None) -> int:
    """Sign a further version with the addendum's words and reason; it covers what arrived since, too.

    Returns the version. Raises CannotSign when nothing was signed yet or something arrived meanwhile.
    """
    if not reports.versions(db, exam_id):
        raise CannotSign(["Nothing is signed yet: an addendum belongs to a signed report."])
    folded = _as_seen(db, exam_id, seen, [])
    unlike = _unlike(folded, addendum.text)
    if unlike and not addendum.stands:
        raise DoNotFit(unlike)
    if addendum.added or addendum.ended:
        folded = _with_other_recommendations(db, exam_id, folded, addendum)
    return _issue(db, exam_id, folded, signer, addendum.status, addendum)


def _with_other_recommendations(
    db: Database, exam_id: str, folded: exams.Folded, addendum: Addendum
) -> exams.Folded:
    """The exam as it will be folded once the addendum's recommendations are recorded."""
    version = len(reports.versions(db, exam_id)) + 1
    fields = folded.exam["fields"]
    before = [row for row in fields.get(RECOMMENDATIONS) or [] if isinstance(row, dict)]
    try:
        rows = recommended.changed(before, addendum.added, addendum.ended, version)
    except recommended.Ended as error:
        raise CannotSign([str(error)]) from error
    return folded._replace(exam=folded.exam | {"fields": fields | {RECOMMENDATIONS: rows}})


def _unlike(folded: exams.Folded, text: str) -> list[str]:
    """What an addendum says that the records do not: the other side, a lost "no"; asked as of an impression."""
    told = folded.exam | {"fields": {"impression": text}}
    found = contradictions.of_words(told, folded.judgement["flags"], Catalogue(rules.worded()["catalogue"]))
    return [str(row["text"]).replace("impression", "addendum") for row in found]


def _as_seen(db: Database, exam_id: str, seen: int | None, own: list[str]) -> exams.Folded:
    """The exam now, provided that it holds nothing the signer has not looked at."""
    folded = exams.fold(db, exam_id)
    if seen is not None:
        looked_at = set(exams.fold(db, exam_id, through=seen).ids) | set(own)
        unseen = [name for name in folded.ids if name not in looked_at]
        if unseen:
            come = "entry has" if len(unseen) == 1 else "entries have"
            raise CannotSign(
                [f"{len(unseen)} {come} arrived since you opened this page: look at the exam as it is now."]
            )
    return folded


def _issue(
    db: Database,
    exam_id: str,
    folded: exams.Folded,
    signer: dict[str, Any],
    status: str,
    addendum: Addendum | None,
) -> int:
    issued = reports.versions(db, exam_id)
    version = len(issued) + 1
    at = desk.now()
    amendments = _amendments(folded.exam, addendum, signer, at)
    told = facts(db, folded, signer, status, version, at, amendments)
    made = build(folded, told)
    kept = _kept(exam_id, folded, told, made)
    with write(db):
        # The documents were made outside the transaction, so that phones need not wait for them.
        if len(reports.versions(db, exam_id)) != len(issued):
            raise CannotSign([_already(db, exam_id)])
        if exams.fold(db, exam_id).ids != folded.ids:
            raise CannotSign(["Entries arrived while you signed: look at the exam as it is now."])
        covers = list(folded.ids)
        common = {"author": signer["id"], "at": at, "exam": exam_id, "patient": folded.exam["patient_id"]}
        before = tuple(row["signed_id"] for row in issued[-1:])
        if addendum is not None:
            acts = [Act("amended", {"about": "exam"} | addendum.words(), of=before, **common)]
            if addendum.added or addendum.ended:
                body = {"about": RECOMMENDATIONS, "value": folded.exam["fields"][RECOMMENDATIONS]}
                after = tuple(drafting.of_slot(db, exam_id, RECOMMENDATIONS, folded.through))
                acts.append(Act("set", body, after=after, **common))
            covers += desk.record(db, acts)
        signed = Act("signed", _body(told, kept, covers, signer), of=before, **common)
        signed_id = desk.record(db, [signed])[0]
        reports.keep(db, kept | {"signed_id": signed_id})
        exams.refresh(db, [exam_id])
    return version


def _body(facts: dict[str, Any], kept: dict[str, Any], covers: list[str], signer: dict[str, Any]) -> dict[str, Any]:
    hashes = reports.hashes(kept)
    return {
        "about": "exam",
        "version": facts["version"],
        "status": facts["status"],
        "covers": covers,
        "tables_hash": facts["tables_hash"],
        "core_version": facts["core_version"],
        "judgement_hash": hashes["judgement_hash"],
        "pdf_hash": hashes["pdf_hash"],
        "signer": {"id": signer["id"], "name": signer["name"]},
    }


def facts(
    db: Database,
    folded: exams.Folded,
    signer: dict[str, Any],
    status: str,
    version: int | None,
    at: str,
    amendments: list[dict[str, Any]],
) -> dict[str, Any]:
    """What the report says of itself."""
    return {
        "practice": meta.get(db, "practice"),
        "version": version,
        "status": status,
        "signer": {"id": signer["id"], "name": signer["name"]},
        "issued_at": at,
        "limits_version": folded.judgement["limits_version"],
        "tables_hash": rules.tables_hash(),
        "core_version": rules.core_version(),
        "entries": len(folded.ids),
        "amendments": amendments,
        "head": heads.now(db).text,
        "courses": trends.several(trends.of(db, folded.exam["id"], folded)),
        "people": {person["id"]: person["name"] for person in people.everyone(db)},
    }


def _amendments(
    exam: dict[str, Any], addendum: Addendum | None, signer: dict[str, Any], at: str
) -> list[dict[str, Any]]:
    told = [
        {
            "status": row["status"],
            "reason": row["reason"],
            "text": row["text"],
            "at": row["at"],
            "by": row["author"],
        }
        for row in exam["amended"]
        if not row["struck"]
    ]
    if addendum is not None:
        words = {"status": addendum.status, "reason": addendum.reason, "text": addendum.text}
        told.append(words | {"at": at, "by": signer["id"]})
    return told


def build(folded: exams.Folded, told: dict[str, Any]) -> dict[str, Any]:
    """The page, the PDF and the plain text of the exam with these facts."""
    from webapp.report import issue  # loads fonts and the PDF engine: only where something is issued

    return dict(issue.build(folded.exam, folded.judgement, told, courses=told.get("courses")))


def _kept(exam_id: str, folded: exams.Folded, facts: dict[str, Any], made: dict[str, Any]) -> dict[str, Any]:
    return {
        "exam": exam_id,
        "version": facts["version"],
        "status": facts["status"],
        "signer": json.dumps(facts["signer"], ensure_ascii=False, sort_keys=True),
        "issued_at": facts["issued_at"],
    } | documents(folded, facts, made)


def documents(folded: exams.Folded, facts: dict[str, Any], made: dict[str, Any]) -> dict[str, Any]:
    """What is kept of every report, signed or preliminary: its forms, what they were made of, and by which rules."""
    return {
        "html": made["html"],
        "pdf": made["pdf"],
        "plain": made["text"],
        "exam_json": json.dumps(folded.exam, ensure_ascii=False, sort_keys=True),
        "judgement_json": json.dumps(folded.judgement, ensure_ascii=False, sort_keys=True),
        "limits_version": facts["limits_version"],
        "tables_hash": facts["tables_hash"],
        "core_version": facts["core_version"],
    }


def _already(db: Database, exam_id: str) -> str:
    last = reports.versions(db, exam_id)[-1]
    return (
        f"{last['signer_name']} has just signed version {last['version']} of this exam, "
        f"at {last['issued_at'][11:16]}. Nothing of yours was signed."
    )


def _many(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
