"""The limits pages as a person uses them: opens a page, presses a button, fills a form."""

import html
import re
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse


class Desk:
    """A browser on the limits pages; every step is sent with the token and the last change of the page shown."""

    def __init__(self, browser: FlaskClient):
        self.browser = browser

    def page(self, address: str = "/limits") -> str:
        """A page's text; it must be there."""
        answer = self.browser.get(address)
        assert answer.status_code == 200, answer.text
        return html.unescape(answer.text)

    def fields(self, address: str) -> dict[str, str]:
        """The hidden fields that all forms of a page share."""
        page = self.page(address)
        found = {}
        for name in ("csrf_token", "seen"):
            tag = next(tag for tag in re.findall(r"<input[^>]*>", page) if f'name="{name}"' in tag)
            value = re.search(r'value="([^"]*)"', tag)
            found[name] = value[1] if value else ""
        return found

    def post(self, page: str, address: str, **typed: Any) -> TestResponse:
        """Send a form of `page`."""
        return self.browser.post(address, data=self.fields(page) | typed)

    def switch(self, what: str) -> TestResponse:
        return self.post("/limits", "/limits/switch", what=what)

    def threshold(self, path: str, number: str) -> TestResponse:
        return self.post("/limits/thresholds", "/limits/threshold", path=path, number=number)

    def own(self, **typed: Any) -> TestResponse:
        return self.post("/limits/own", "/limits/own", **(ROW | typed))


ROW = {
    "quantity": "adrenal.*.maximum_thickness", "species": "dog", "breed": "", "sex": "any", "neutered": "any",
    "weights": "class", "from_included": "no", "from_kg": "5", "to_included": "yes", "to_kg": "10",
    "from_months": "12", "lower": "", "upper": "0,58", "unit": "cm", "plane": "long_axis", "use": "limit",
    "population": "dogs seen for dental work", "n_not_known": "no", "n": "31",
    "source": "own series 2024 to 2026", "note": "",
}  # fmt: skip
