"""Pairing: by QR code or typed code, compared by eye, once, within five minutes, never guessed."""

import hashlib
import re
from collections.abc import Callable

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import push, whole_exam
from tests.pairing.wire import DEVICE, Clock, Desk, bearer, use, wait
from webapp.pairing import codes
from webapp.store import phones


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    return Clock(monkeypatch)


@pytest.fixture
def desk(sign_in: Callable[..., FlaskClient], clock: Clock) -> Desk:
    return Desk(sign_in())


def outcomes(db: Database) -> list[str]:
    return [row["outcome"] for row in db.query("select outcome from pairing_attempts order by id")]


@pytest.mark.parametrize("by", ["secret", "code"])
def test_a_phone_is_paired_once_the_desk_has_compared_the_number(
    desk: Desk, client: FlaskClient, db: Database, by: str
) -> None:
    pairing, secret, code = desk.start()
    proof = secret if by == "secret" else code
    made = use(client, **{by: proof}).json
    hashed = hashlib.sha256(f"gelside-pair{proof.replace('-', '')}{DEVICE}".encode()).hexdigest()
    if by == "secret":
        hashed = hashlib.sha256(f"gelside-pair{secret}{DEVICE}".encode()).hexdigest()
    number = f"{int(hashed[:10], 16) % 1_000_000:06d}"
    assert made["number"] == number
    assert number in desk.page(pairing)
    assert wait(client, made).json == {"state": "waiting"}
    assert desk.confirm(pairing).status_code == 302
    told = wait(client, made).json
    assert (told["state"], told["practice"], told["person"]) == ("confirmed", "Practice without a name", "VS")
    assert told["lock"] == {"pin": True, "keep_days": 30}
    assert told["server_key"]["alg"] == "RSA-OAEP-256"
    assert client.post("/api/journal", data=push(whole_exam()), headers=bearer(told["token"])).status_code == 200
    assert client.get("/api/practice", headers=bearer(told["token"])).json["phone"] == "Blue phone"
    assert "is paired" in desk.page(pairing)


def test_neither_secret_nor_code_nor_token_lies_in_the_database(
    desk: Desk, client: FlaskClient, db: Database
) -> None:
    pairing, secret, code = desk.start()
    made = use(client, secret=secret).json
    desk.confirm(pairing)
    token = wait(client, made).json["token"]
    dump = "\n".join(db.conn.iterdump())
    for kept_from_it in (secret, code, code.replace("-", ""), made["poll"], token):
        assert kept_from_it not in dump
    assert len(secret) == 22
    assert len(token) >= 43


@pytest.mark.parametrize("typed", ["{code}", " {lower} ", "{spaced}", "{alike}"])
def test_a_code_is_read_as_people_type_it(typed: str) -> None:
    shown = "01ABC-XYZ90"
    forms = {"code": shown, "lower": shown.lower(), "spaced": " ".join(shown), "alike": "OIabc-xyz9o"}
    assert codes.normalised(typed.format(**forms)) == "01ABCXYZ90"


def test_codes_and_secrets_are_not_alike() -> None:
    made = {codes.code("key", str(n)) for n in range(500)} | {codes.secret("key", str(n)) for n in range(500)}
    assert len(made) == 1000
    assert codes.code("key", "1") != codes.code("another key", "1")


@pytest.mark.catalogue(66)
def test_a_code_used_twice_is_refused_and_logged(desk: Desk, client: FlaskClient, db: Database) -> None:
    _, secret, code = desk.start()
    assert use(client, secret=secret).status_code == 200
    for again in ({"secret": secret}, {"code": code}):
        answer = use(client, device="d4" * 16, **again)
        assert (answer.status_code, answer.json["error"]["code"]) == (403, "pairing_refused")
    assert outcomes(db) == ["ok", "used", "used"]


@pytest.mark.catalogue(66)
def test_a_code_after_five_minutes_is_refused_and_logged(
    desk: Desk, client: FlaskClient, clock: Clock, db: Database
) -> None:
    pairing, secret, _ = desk.start()
    clock.later(minutes=5, seconds=1)
    assert use(client, secret=secret).json["error"]["code"] == "pairing_refused"
    assert outcomes(db) == ["late"]
    assert "This code is over" in desk.page(pairing)


@pytest.mark.catalogue(66)
def test_guessing_is_stopped_after_ten_failures_a_minute_and_logged(
    desk: Desk, client: FlaskClient, clock: Clock, db: Database
) -> None:
    _, secret, _ = desk.start()
    for guess in range(10):
        assert use(client, code=f"{guess:010d}").status_code == 403
        clock.later(seconds=1)
    stopped = use(client, secret=secret)
    assert (stopped.status_code, stopped.json["error"]["code"]) == (429, "too_many")
    assert 0 < int(stopped.headers["Retry-After"]) <= 60
    assert use(client, secret=secret).status_code == 429
    assert outcomes(db) == ["unknown"] * 10 + ["too_many"]
    clock.later(seconds=int(stopped.headers["Retry-After"]))
    assert use(client, secret=secret).status_code == 200


@pytest.mark.catalogue(66)
def test_the_log_of_attempts_cannot_be_changed(desk: Desk, client: FlaskClient, db: Database) -> None:
    use(client, code="0000000000")
    for change in ("delete from pairing_attempts", "update pairing_attempts set outcome = 'ok'"):
        with pytest.raises(Exception, match="never"):
            db.execute(change)


def test_a_number_that_differs_is_refused_at_the_desk_and_no_phone_is_made(
    desk: Desk, client: FlaskClient, db: Database
) -> None:
    pairing, secret, _ = desk.start()
    made = use(client, secret=secret).json
    desk.press(f"/phones/pair/{pairing}/refuse")
    assert wait(client, made).json == {"state": "refused"}
    assert [row["name"] for row in phones.everyone(db)] == ["Test phone"]
    assert desk.confirm(pairing).status_code == 302
    assert wait(client, made).json == {"state": "refused"}


def test_without_the_desk_no_time_brings_a_token(desk: Desk, client: FlaskClient, clock: Clock) -> None:
    pairing, secret, _ = desk.start()
    made = use(client, secret=secret).json
    clock.later(minutes=5, seconds=1)
    assert wait(client, made).json == {"state": "expired"}
    desk.confirm(pairing)
    assert wait(client, made).json == {"state": "expired"}


def test_an_answer_lost_on_the_way_costs_no_pairing_and_leaves_one_valid_token(
    desk: Desk, client: FlaskClient, clock: Clock
) -> None:
    pairing, secret, _ = desk.start()
    made = use(client, secret=secret).json
    desk.confirm(pairing)
    lost, came = wait(client, made).json, wait(client, made).json
    assert lost["phone"] == came["phone"]
    assert client.get("/api/practice", headers=bearer(lost["token"])).status_code == 401
    header = bearer(came["token"], **{"X-Gelside-Report": '{"unsent":0}'})
    assert client.get("/api/practice", headers=header).status_code == 200
    assert wait(client, made).json == {"state": "expired"}


def test_a_collected_pairing_gives_nothing_after_its_time(desk: Desk, client: FlaskClient, clock: Clock) -> None:
    pairing, secret, _ = desk.start()
    made = use(client, secret=secret).json
    desk.confirm(pairing)
    assert "token" in wait(client, made).json
    clock.later(minutes=6)
    assert wait(client, made).json == {"state": "expired"}
    assert "is paired" in desk.page(pairing)


def test_another_phone_cannot_wait_in_its_place(desk: Desk, client: FlaskClient, db: Database) -> None:
    pairing, secret, _ = desk.start()
    made = use(client, secret=secret).json
    desk.confirm(pairing)
    for poll in ("", "x", secret):
        answer = wait(client, made | {"poll": poll})
        assert (answer.status_code, answer.json["error"]["code"]) == (403, "pairing_refused")
    assert outcomes(db)[1:] == ["wrong_poll"] * 3


@pytest.mark.parametrize(
    "change",
    [{"protocol": 2}, {"device": "x"}, {"device": None}, {"name": 7}, {"code": ""}, {"code": 5}, {"code": "9" * 200}],
)
def test_a_malformed_request_is_400_and_no_attempt(
    client: FlaskClient, db: Database, change: dict[str, object]
) -> None:
    answer = use(client, **({"code": "0000000000"} | change))
    assert (answer.status_code, answer.json["error"]["code"]) == (400, "malformed")
    assert outcomes(db) == []


def test_the_page_holds_the_code_as_svg_without_script_or_style(desk: Desk) -> None:
    pairing, secret, _ = desk.start()
    page = desk.page(pairing)
    svg = re.search(r"<svg.*?</svg>", page, re.S)
    assert svg is not None
    assert not re.search(r"style|on\w+=|<script", svg.group(0))
    assert secret not in page


def test_a_phones_own_name_is_text(desk: Desk, client: FlaskClient) -> None:
    pairing, secret, _ = desk.start()
    use(client, secret=secret, name="<b>x</b>\0\n", app="<i>")
    page = desk.page(pairing)
    assert "&lt;b&gt;x&lt;/b&gt;" in page
    assert "<b>x</b>" not in page


def test_an_address_of_its_own_for_phones_goes_into_the_code(app: Flask, desk: Desk) -> None:
    app.config["PHONE_ADDRESS"] = "https://gelside.example:8443/"
    pairing, _, _ = desk.start()
    page = desk.page(pairing)
    assert "https://gelside.example:8443</b>" in page
    assert "refuses to start an exam" not in page


def test_plain_http_on_a_network_is_warned_about(desk: Desk, app: Flask) -> None:
    app.config["PHONE_ADDRESS"] = "http://192.168.1.5:8000"
    pairing, _, _ = desk.start()
    assert "refuses to start an exam" in desk.page(pairing)
