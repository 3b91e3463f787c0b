"""A phone that pairs, for tests: what it sends, and the desk's buttons."""

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.conftest import form_token
from webapp import clock
from webapp.pairing import codes

DEVICE = "c3" * 16
NOON = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)


class Clock:
    """A clock that moves only when told to."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch):
        self.at = NOON
        monkeypatch.setattr(clock, "now", lambda: self.at)

    def later(self, **time: float) -> None:
        self.at += timedelta(**time)


class Desk:
    """A signed-in browser on the phones' pages."""

    def __init__(self, browser: FlaskClient):
        self.browser = browser

    def press(self, address: str, **typed: Any) -> Any:
        token = form_token(self.browser.get("/phones").text)
        return self.browser.post(address, data={"csrf_token": token} | typed)

    def start(self) -> tuple[str, str, str]:
        """A new pairing: its id, the secret in the QR code, the code as shown."""
        answer = self.press("/phones/pair")
        assert answer.status_code == 303, answer.text
        pairing = answer.location.rsplit("/", 1)[1]
        page = self.browser.get(answer.location).text
        code = re.search(r'class="code"[^>]*>([^<]+)<', page)
        assert code is not None
        secret = codes.secret(self.browser.application.config["SECRET_KEY"], pairing)
        return pairing, secret, code.group(1)

    def page(self, pairing: str) -> str:
        return self.browser.get(f"/phones/pair/{pairing}").text

    def confirm(self, pairing: str, name: str = "Blue phone", person: str = "VS") -> Any:
        return self.press(f"/phones/pair/{pairing}/confirm", name=name, person=person)


def use(client: FlaskClient, **given: Any) -> Any:
    """POST /api/pair."""
    return client.post("/api/pair", json={"protocol": 1, "device": DEVICE, "name": "A phone", "app": "1"} | given)


def wait(client: FlaskClient, made: dict[str, str]) -> Any:
    """GET /api/pair/<id>."""
    return client.get(f"/api/pair/{made['pairing']}", headers={"X-Pairing-Poll": made["poll"]})


def bearer(token: str, **headers: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {token}"} | headers
