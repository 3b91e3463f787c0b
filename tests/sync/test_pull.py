"""Pulling: today's animals, their earlier exams and nothing else, resumable by arrival."""

import gzip
from datetime import date, timedelta
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import PATIENT, Phone, whole_exam
from tests.conftest import BEARER
from webapp.store import desk, entries, erasures, journal, people

OTHER = PATIENT[:-1] + "b"


@pytest.fixture(autouse=True)
def no_midnight(monkeypatch: pytest.MonkeyPatch) -> None:
    class Still(date):
        @classmethod
        def today(cls) -> date:
            return date(2026, 11, 24)

    monkeypatch.setattr("webapp.sync.routes.date", Still)


TODAY = date(2026, 11, 24)


def plan(db: Database, patient: str, day: date = TODAY) -> str:
    body = {
        "about": "visit",
        "date": day.isoformat(),
        "time": "10:00",
        "order": 1,
        "patient": {"name": "Pepper", "species": "dog"},
        "question": {"text": "Adrenal glands?", "structures": []},
    }
    return desk.act(db, "planned", body, author="RD", patient=patient)


def pull(client: FlaskClient, **arguments: Any) -> Any:
    answer = client.get("/api/journal", query_string=arguments, headers=BEARER)
    assert answer.status_code == 200, answer.text
    return answer.json


def kinds(page: Any) -> list[str]:
    return [entries.open_entry(entry)["kind"] for entry in page["entries"]]


def test_a_first_page_leads_with_the_whole_list_where_it_is_asked_for(client: FlaskClient, db: Database) -> None:
    """The visits are the newest entries: behind the exams of years they would come last."""
    journal.append(db, whole_exam().written, "phone")
    planned = plan(db, PATIENT)
    desk.act(db, "set", {"about": "visit.time", "value": "11:00"}, author="RD", patient=PATIENT, of=[planned])
    desk.act(db, "set", {"about": "patient.owner.name", "value": "Ms Cole"}, author="RD", patient=PATIENT)
    page = pull(client, since=0, limit=3, ahead=1)
    list_of_day = [entries.open_entry(entry) for entry in page["ahead"]]
    assert [entry["kind"] for entry in list_of_day] == ["planned", "set"], "no exam, and no owner"
    assert list_of_day[0]["id"] == planned
    assert len(page["entries"]) == 3 and page["more"] is True, "the pages themselves stay as they are"
    later = pull(client, since=page["next"], scope=page["scope"], limit=100, ahead=1)
    assert "ahead" not in later and "planned" in kinds(later)
    assert "ahead" not in pull(client, since=0, limit=100, ahead=1), "a page that is all has them already"
    assert "ahead" not in pull(client, since=0, limit=3), "a phone of before asks for none"


def test_what_leads_is_the_whole_list_or_nothing(
    client: FlaskClient, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A visit without what was changed of it since would be shown as it is not."""
    journal.append(db, whole_exam().written, "phone")
    planned = plan(db, PATIENT)
    desk.act(db, "set", {"about": "visit.cancelled", "value": True}, author="RD", patient=PATIENT, of=[planned])
    plan(db, PATIENT)
    for most, comes in ((3, True), (2, False)):
        monkeypatch.setattr("webapp.sync.routes.MOST_ENTRIES", most)
        assert ("ahead" in pull(client, since=0, limit=1, ahead=1)) is comes


def test_a_page_goes_over_the_line_compressed(client: FlaskClient, db: Database) -> None:
    journal.append(db, whole_exam().written, "phone")
    plan(db, PATIENT)
    plain = client.get("/api/journal", headers=BEARER)
    answer = client.get("/api/journal", headers=BEARER | {"Accept-Encoding": "gzip, br"})
    assert (answer.headers["Content-Encoding"], "Content-Encoding" in plain.headers) == ("gzip", False)
    assert gzip.decompress(answer.data) == plain.data
    assert len(answer.data) * 2 < len(plain.data)
    assert int(answer.headers["Content-Length"]) == len(answer.data)
    for one in (plain, answer):
        assert "Accept-Encoding" in one.headers["Vary"]


def test_only_the_animals_of_today_come(client: FlaskClient, db: Database) -> None:
    journal.append(db, whole_exam().written, "phone")
    journal.append(db, whole_exam(Phone("b2" * 16, exam="other", patient=OTHER)).written, "phone")
    assert pull(client)["entries"] == []
    planned = plan(db, PATIENT)
    page = pull(client)
    assert len(page["entries"]) == 10
    assert {entries.open_entry(entry)["patient"] for entry in page["entries"]} == {PATIENT}
    assert planned in {entries.entry_id(entry) for entry in page["entries"]}
    assert (page["more"], page["next"]) == (False, 19)


def test_an_erased_entry_is_not_sent(client: FlaskClient, db: Database) -> None:
    plan(db, PATIENT)
    phone = whole_exam()
    journal.append(db, phone.written, "phone")
    note = entries.entry_id(phone.written[7])
    erasures.erase(db, [note], "RD", "The owner asked for it.", "2026-11-24T12:00:00+00:00")
    ids = {entries.entry_id(entry) for entry in pull(client)["entries"]}
    assert note not in ids and len(ids) == len(phone.written)


def test_plans_of_other_days_do_not_come(client: FlaskClient, db: Database) -> None:
    plan(db, PATIENT, TODAY - timedelta(days=1))
    plan(db, OTHER, TODAY + timedelta(days=1))
    assert pull(client)["entries"] == []


def test_a_pull_goes_on_where_it_stopped(client: FlaskClient, db: Database) -> None:
    plan(db, PATIENT)
    journal.append(db, whole_exam().written, "phone")
    scope, since, got, rounds = pull(client, limit=1)["scope"], 0, [], 0
    while True:
        page = pull(client, since=since, scope=scope, limit=4)
        got += [entry["arrival"] for entry in page["entries"]]
        since, rounds = page["next"], rounds + 1
        if not page["more"]:
            break
    assert got == list(range(1, 11))
    assert rounds == 3
    assert pull(client, since=since, scope=scope)["entries"] == []


def test_an_animal_added_to_the_list_brings_what_arrived_before(client: FlaskClient, db: Database) -> None:
    journal.append(db, whole_exam().written, "phone")
    plan(db, OTHER)
    first = pull(client)
    assert kinds(first) == ["planned"]
    plan(db, PATIENT)
    second = pull(client, since=first["next"], scope=first["scope"])
    assert second["scope"] != first["scope"]
    assert len(second["entries"]) == 11


def test_a_phone_hears_that_a_plan_was_struck_and_that_the_strike_was(client: FlaskClient, db: Database) -> None:
    """It may hold the visit already; the animal's exams come only while the visit stands."""
    journal.append(db, whole_exam().written, "phone")
    planned = plan(db, PATIENT)
    strike = desk.act(db, "struck", {"about": "visit", "why": "cancelled"}, author="RD", patient=PATIENT, of=[planned])
    assert kinds(pull(client)) == ["planned", "struck"]
    desk.act(db, "struck", {"about": "visit", "why": "came after all"}, author="RD", patient=PATIENT, of=[strike])
    assert len(pull(client)["entries"]) == 9 + 3


def change(db: Database, planned: str, field: str, value: Any, patient: str = PATIENT, after: Any = ()) -> str:
    body = {"about": f"visit.{field}", "value": value}
    return desk.act(db, "set", body, author="RD", patient=patient, of=[planned], after=after)


def test_a_visit_given_away_or_moved_is_told_of(client: FlaskClient, db: Database) -> None:
    planned = plan(db, PATIENT)
    change(db, planned, "date", "2026-12-24")
    assert kinds(pull(client)) == ["planned", "set"]
    later = plan(db, OTHER, TODAY + timedelta(days=40))
    change(db, later, "date", TODAY.isoformat(), OTHER)
    assert kinds(pull(client)) == ["planned", "set", "planned", "set"]


def test_the_phones_own_person_gets_the_coming_visits_too(client: FlaskClient, db: Database) -> None:
    """The test's phone is V. Stone's."""
    tomorrow = plan(db, PATIENT, TODAY + timedelta(days=1))
    far = plan(db, OTHER, TODAY + timedelta(days=4))
    change(db, far, "sonographer", "VS", OTHER)
    assert kinds(pull(client)) == []
    given = change(db, tomorrow, "sonographer", "VS")
    assert kinds(pull(client)) == ["planned", "set"]
    journal.append(db, whole_exam().written, "phone")
    assert len(pull(client)["entries"]) == 11
    change(db, tomorrow, "sonographer", "RD", after=[given])
    assert kinds(pull(client)) == ["planned", "set", "set"], "it is told that the visit went to somebody else"


def test_the_animals_record_comes_and_its_owner_stays_at_the_desk(client: FlaskClient, db: Database) -> None:
    plan(db, PATIENT)
    place = pull(client)
    for field, value in (("name", "Pepper"), ("owner.name", "L. Thorn"), ("owner.contact", "555"), ("microchip", "9")):
        desk.act(db, "set", {"about": f"patient.{field}", "value": value}, author="RD", patient=PATIENT)
    page = pull(client, since=place["next"], scope=place["scope"])
    assert page["scope"] == place["scope"], "a fact more is no reason to start again"
    abouts = [entries.open_entry(entry)["body"]["about"] for entry in page["entries"]]
    assert abouts == ["patient.name", "patient.microchip"]


def test_exams_of_a_merged_record_come_and_stay_away_again_when_it_is_undone(
    client: FlaskClient, db: Database
) -> None:
    journal.append(db, whole_exam(Phone("b2" * 16, exam="other", patient=OTHER)).written, "phone")
    plan(db, PATIENT)
    before = pull(client)
    assert kinds(before) == ["planned"]
    body = {"about": "patient", "from": {"id": OTHER}, "into": {"id": PATIENT}, "why": "one dog"}
    merge = desk.act(db, "merged", body, author="RD", patient=PATIENT)
    after = pull(client, since=before["next"], scope=before["scope"])
    assert after["scope"] != before["scope"] and len(after["entries"]) == 9 + 2
    desk.act(db, "struck", {"about": "patient", "why": "two dogs"}, author="RD", patient=PATIENT, of=[merge])
    assert kinds(pull(client)) == ["planned", "merged", "struck"]


def test_an_exam_moved_to_a_listed_animal_comes_whole_and_one_moved_away_says_so(
    client: FlaskClient, db: Database
) -> None:
    journal.append(db, whole_exam(Phone("b2" * 16, exam="other", patient=OTHER)).written, "phone")
    plan(db, PATIENT)
    before = pull(client)
    body = {"about": "exam.patient", "value": {"id": PATIENT, "species": "dog"}, "from": {"id": OTHER}, "why": "wrong"}
    desk.act(db, "set", body, author="RD", patient=PATIENT, exam="other")
    after = pull(client, since=before["next"], scope=before["scope"])
    assert len(after["entries"]) == 9 + 2, "all of it, though most of it names the other animal"
    desk.act(db, "planned", {"about": "visit", "date": "2026-11-24", "patient": {}}, author="RD", patient=OTHER)
    desk.act(db, "struck", {"about": "visit"}, author="RD", patient=PATIENT, of=[before_id(before)])
    abouts = [entries.open_entry(entry)["body"].get("about") for entry in pull(client)["entries"]]
    assert "exam.patient" in abouts, "the first animal's phone learns that the exam is not this animal's"


def before_id(page: Any) -> str:
    return entries.entry_id(page["entries"][0])


def test_bytes_come_as_they_went(client: FlaskClient, db: Database) -> None:
    phone = Phone()
    phone.act("noted", {"about": "exam", "text": "größer als \u2028 <script> 😀"})
    journal.append(db, phone.written, "phone")
    plan(db, PATIENT)
    assert {key: pull(client)["entries"][0][key] for key in ("header", "body")} == phone.written[0]


@pytest.mark.parametrize("arguments", [{"since": "-1"}, {"since": "x"}, {"limit": "٣"}, {"since": "9" * 40}])
def test_a_number_that_is_none_is_refused(client: FlaskClient, arguments: dict[str, str]) -> None:
    answer = client.get("/api/journal", query_string=arguments, headers=BEARER)
    assert (answer.status_code, answer.json["error"]["code"]) == (400, "malformed")


def test_practice_names_people_and_the_phone_but_no_secret(client: FlaskClient) -> None:
    answer = client.get("/api/practice", headers=BEARER)
    assert answer.json["phone"] == "Test phone"
    assert {"id": "RD", "name": "R. Dale", "role": "reviewer, admin"} in answer.json["people"]
    assert "hash" not in answer.text
    assert answer.headers["Cache-Control"] == "no-store"


def test_ping_needs_no_token_and_is_not_kept(client: FlaskClient) -> None:
    answer = client.get("/api/ping")
    assert answer.json["gelside"] == 1
    assert answer.headers["Cache-Control"] == "no-store"


def test_the_last_page_names_what_the_practice_would_tell(client: FlaskClient, db: Database) -> None:
    told = client.get("/api/practice", headers=BEARER).json
    assert pull(client)["practice"] == told["mark"]
    people.add(db, "NN", "N. New", "sonographer", None)
    assert pull(client)["practice"] != told["mark"]
    assert client.get("/api/practice", headers=BEARER).json["mark"] == pull(client)["practice"]


def test_a_page_that_is_not_the_last_says_nothing_of_the_practice(client: FlaskClient, db: Database) -> None:
    plan(db, PATIENT)
    journal.append(db, whole_exam().written, "phone")
    first = pull(client, limit=2)
    assert (first["more"], "practice" in first) == (True, False)
