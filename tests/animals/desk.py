"""A person at the desk, for tests of its forms: opens a page, fills its form as it came, sends it."""

import html
import re
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

TAG = re.compile(r"<(input)\b([^>]*)>()|<(textarea|select)\b([^>]*)>(.*?)</(?:textarea|select)>", re.DOTALL)


class Page:
    """A page as it came, and what its form with the id `work` (or the first with `action`) holds."""

    def __init__(self, browser: FlaskClient, address: str, action: str | None = None):
        self.browser, self.address = browser, address
        answer = browser.get(address)
        assert answer.status_code == 200, (address, answer.status_code, answer.text[:500])
        self.text = answer.text
        self.form: dict[str, Any] = {}
        self.target = address
        for form in re.findall(r"<form\b.*?</form>", self.text, re.DOTALL):
            head = form.split(">", 1)[0]
            if (action is None and 'id="work"' in head) or (action is not None and action in head):
                self.form = fields(form)
                told = re.search(r'action="([^"]+)"', head)
                self.target = html.unescape(told[1]) if told else address
                return
        assert action is None, f"no form for {action} on {address}"

    def send(self, **typed: Any) -> TestResponse:
        """Send the form with these fields typed; `-` in a name is written `__`, None leaves a field out."""
        filled = self.form | {name.replace("__", "-"): value for name, value in typed.items()}
        return self.browser.post(self.target, data={k: v for k, v in filled.items() if v is not None})

    def sent(self, **typed: Any) -> str:
        """The same; the form must be taken. Gives the address it led to."""
        answer = self.send(**typed)
        assert answer.status_code == 302, re.findall(r'class="error"[^>]*>([^<]*)', answer.text) or answer.text[:2000]
        return str(answer.headers["Location"])


def fields(form: str) -> dict[str, Any]:
    """Names and values as a browser would send them."""
    found: dict[str, Any] = {}
    for found_tag in TAG.findall(form):
        kind, attributes, inner = found_tag[:3] if found_tag[0] else found_tag[3:]
        name = re.search(r'\bname="([^"]+)"', attributes)
        if name is None or 'type="submit"' in attributes:
            continue
        if kind == "select":
            options = re.findall(r"<option([^>]*)>([^<]*)", inner)
            chosen = [one for one in options if re.search(r"\bselected\b", one[0])] or options[:1]
            for told, words in chosen:
                value = re.search(r'\bvalue="([^"]*)"', told)
                found[name[1]] = html.unescape(value[1] if value else words)
        elif kind == "textarea":
            found[name[1]] = html.unescape(inner).removeprefix("\r\n").removeprefix("\n")
        elif ("radio" in attributes or "checkbox" in attributes) and "checked" not in attributes:
            continue
        else:
            value = re.search(r'\bvalue="([^"]*)"', attributes)
            found[name[1]] = html.unescape(value[1]) if value else ""
    return found


def animal(browser: FlaskClient, name: str = "Pepper", species: str = "dog", **typed: Any) -> str:
    """Make a record by the form; the animal's id."""
    page = Page(browser, "/animals/new")
    address = page.sent(name=name, species=species, all_the_same="yes", **typed)
    return address.rsplit("/", 1)[1]
