"""A vet at the desk, for tests: opens an exam, fills the form as the page gave it, signs."""

import html
import re
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.builders import EXAM

FIELD = re.compile(r"<(?:input|textarea)\b[^>]*>(?:[^<]*</textarea>)?")


class Vet:
    """What one browser shows of one exam, and what is typed into it."""

    def __init__(self, browser: FlaskClient, exam: str = EXAM, page: str = ""):
        self.browser = browser
        self.address = f"/review/exam/{exam}{page}"
        self.page = ""
        self.form: dict[str, str] = {}
        self.look()

    def look(self) -> "Vet":
        """Open the exam anew."""
        answer = self.browser.get(self.address)
        assert answer.status_code == 200, answer.text
        return self.read(answer)

    def read(self, answer: TestResponse) -> "Vet":
        """Take the form of a page as it stands there."""
        self.page = answer.text
        work = self.page.split('id="work"', 1)[1].split("</form>", 1)[0]
        self.form = {name: value for name, value in map(_field, FIELD.findall(work)) if name is not None}
        return self

    def fill(self, **typed: str) -> "Vet":
        """Type into fields; `-` in a field's name is written `__`."""
        for name, text in typed.items():
            self.form[name.replace("__", "-")] = text
        return self

    def ready(self) -> "Vet":
        """Fill in all that a signature asks for."""
        self.fill(answered="yes", impression="Both glands seen; the LEFT one is thick.")
        for name in list(self.form):
            if name.startswith("answers-") and name.endswith("-reason"):
                self.form[name] = "measured again, same"
        return self

    def post(self, what: str, **more: Any) -> TestResponse:
        """Send the form to draft, sign, addend or settle."""
        return self.browser.post(f"{self.address}/{what}", data=self.form | more)

    def sign(self) -> TestResponse:
        """Fill in what is asked and sign; the signature must be taken."""
        answer = self.ready().post("sign")
        assert answer.status_code == 302, answer.text
        return answer


def _field(tag: str) -> tuple[str | None, str]:
    name = re.search(r'\bname="([^"]+)"', tag)
    chosen = 'type="radio"' in tag or 'type="checkbox"' in tag
    if name is None or 'type="submit"' in tag or (chosen and " checked" not in tag):
        return None, ""
    if tag.startswith("<textarea"):
        return name[1], html.unescape(tag.split(">", 1)[1].removesuffix("</textarea>")).removeprefix("\r\n")
    value = re.search(r'\bvalue="([^"]*)"', tag)
    return name[1], html.unescape(value[1]) if value else ""
