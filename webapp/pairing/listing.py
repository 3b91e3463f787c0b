"""The phones as the desk's page shows them."""

from datetime import UTC, datetime
from typing import Any

from sqlite_utils import Database

from webapp.dates import moment
from webapp.phone import built_rules
from webapp.store import branches, phones

STATES = {phones.APPROVED: "may send and read", phones.REVOKED: "revoked", phones.TO_APPROVE: "to approve again"}
SHAPES = {phones.APPROVED: "●", phones.REVOKED: "×", phones.TO_APPROVE: "◆"}
DAY_H = 24
OLD_H, TOO_OLD_H = DAY_H, 3 * DAY_H


def rows(db: Database, now: datetime) -> list[dict[str, Any]]:
    """One row per phone: name, person, state in words, contact, what is unsent, versions, and what to know."""
    copies = branches.listing(db)
    return [_row(db, phone, copies, now) for phone in phones.everyone(db)]


def _row(db: Database, phone: dict[str, Any], copies: list[dict[str, Any]], now: datetime) -> dict[str, Any]:
    report = phone["report"]
    return {
        "id": phone["id"],
        "name": phone["name"],
        "person_id": phone["person"] or "",
        "person": phone["person_name"] or "nobody in particular",
        "state": phone["state"],
        "state_words": STATES[phone["state"]],
        "shape": SHAPES[phone["state"]],
        "contact": moment(phone["last_contact"]) or "never",
        "unsent": _unsent(report, now),
        "app": report.get("app") or "not reported",
        "rules": _rules(report.get("rules")),
        "device": f"device {phone['last_device'][:8]}" if phone["last_device"] else "no device yet",
        "remarks": _remarks(db, phone, copies),
    }


def _unsent(report: dict[str, Any], now: datetime) -> dict[str, str]:
    """How much the phone had not sent when it last spoke, with a shape and a word for its age."""
    if "unsent" not in report:
        return {"shape": "–", "words": "not reported", "grade": "note"}
    if not report["unsent"]:
        return {"shape": "○", "words": "nothing", "grade": "note"}
    words = _entries(report["unsent"])
    hours = _hours(report.get("oldest"), now)
    if hours is None:
        return {"shape": "◇", "words": words, "grade": "note"}
    age = f"{hours} h" if hours < 2 * DAY_H else f"{hours // DAY_H} days"
    if hours >= TOO_OLD_H:
        return {"shape": "▲", "words": f"{words}, oldest {age}: fetch this phone", "grade": "tell_someone"}
    if hours >= OLD_H:
        return {"shape": "◆", "words": f"{words}, oldest {age}", "grade": "look_again"}
    return {"shape": "◇", "words": f"{words}, oldest {age}", "grade": "note"}


def _hours(oldest: str | None, now: datetime) -> int | None:
    try:
        then = datetime.fromisoformat(oldest or "")
    except ValueError:
        return None
    return max(0, int((now - then.astimezone(UTC)).total_seconds() // 3600))


def _rules(reported: str | None) -> str:
    if not reported:
        return "not reported"
    return "as here" if reported == built_rules() else f"others than here ({reported[:8]})"


def _remarks(db: Database, phone: dict[str, Any], copies: list[dict[str, Any]]) -> list[str]:
    told = []
    if phone["revoked_at"]:
        sent = phones.sent_since_revoked(db, phone)
        told.append(f"Revoked {moment(phone['revoked_at'])}; {_entries(sent)} sent since.")
    if phone["storage_lost_at"]:
        unsent = phone["report"].get("lost_unsent")
        known = "" if unsent is None else f" At its last contact before, {_entries(unsent)} were unsent."
        cleared = moment(phone["storage_lost_at"])
        told.append(
            f"Its storage was cleared by {cleared}: what was unsent then is lost, unless the phone says that it has it "
            f"again from its second copy.{known}"
        )
    for copy in copies:
        if phone["id"] == copy["phone"]:
            told.append(
                f"This phone was copied: {_entries(copy['entries'])} from number {copy['seq']} on, listed under "
                f"the new device name {copy['name'][:8]}. Both are kept."
            )
    return told


def _entries(many: int) -> str:
    return f"{many} {'entry' if many == 1 else 'entries'}"
