"""Pages run under a policy without inline code; what would be refused there is not written."""

import re

import pytest

from tests.house.tree import texts

PAGES = [(where, text) for where, text in texts() if where.endswith((".html", ".j2", ".svg"))]
SCRIPTS = [(where, text) for where, text in texts()
           if where.endswith((".js", ".mjs")) and where.startswith(("static/", "webapp/", "sw/"))]
INLINE = {
    "a script between its tags": r"<script(?![^>]*\bsrc=)[^>]*>",
    "a style between its tags": r"<style\b",
    "a style in an attribute": r"\sstyle\s*=",
    "an act in an attribute": r"\son[a-z]+\s*=\s*[\"']",
    "another host": r"(?:src|href|action)\s*=\s*[\"'](?:https?:)?//",
}


def test_there_are_pages_to_look_at() -> None:
    assert "static/index.html" in {where for where, _ in PAGES}
    assert len(SCRIPTS) > 10


@pytest.mark.parametrize("what", INLINE)
def test_no_page_holds(what: str) -> None:
    assert [where for where, text in PAGES if re.search(INLINE[what], text)] == []


def test_no_script_evaluates_text_or_writes_html() -> None:
    pattern = re.compile(r"\beval\(|\bnew Function\(|\.innerHTML\s*=|\.outerHTML\s*=|document\.write\(|unsafeHTML")
    assert [where for where, text in SCRIPTS if pattern.search(text)] == []


def test_no_script_names_another_host() -> None:
    named = re.compile(r"[\"'`]https?://")
    assert [where for where, text in SCRIPTS if named.search(text)] == []
