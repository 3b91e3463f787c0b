"""The register on the phone: the module alone in a real browser, given the engine's answer, no server behind it."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Route, sync_playwright

from e2e.browser import launch_options
from webapp import rules

STATIC = Path(__file__).resolve().parents[2] / "static"
SITE = "http://phone.test"
OVERLAY = {"change": 2, "sources_off": ["s001"], "rows_off": [], "thresholds": {"class_edge.share": "0.05"}, "rows": []}
PAGE = """<!doctype html><html lang="en-GB"><title>Limits</title>
<link rel="stylesheet" href="/styles/base.css"><link rel="stylesheet" href="/styles/limits.css">
<main id="limits"></main><script type="module" src="/start.js"></script></html>"""
START = """import { showLimits } from '/app/view-limits.js';
const register = await (await fetch('/register.json')).json();
showLimits(document.getElementById('limits'), register);
document.body.dataset.ready = 'yes';"""
POLICY = "default-src 'self'; script-src 'self'; object-src 'none'; base-uri 'none'"


def answers(register: dict[str, Any]) -> dict[str, tuple[str, str]]:
    made = {
        "/": (PAGE, "text/html"),
        "/start.js": (START, "text/javascript"),
        "/register.json": (json.dumps(register), "application/json"),
    }
    for path in ("app/view-limits.js", "styles/base.css", "styles/limits.css"):
        kind = "text/javascript" if path.endswith(".js") else "text/css"
        made[f"/{path}"] = ((STATIC / path).read_text(encoding="utf-8"), kind)
    return made


@pytest.fixture(scope="module")
def register() -> dict[str, Any]:
    made: dict[str, Any] = rules.call({"do": "register"}, OVERLAY)["register"]
    made["rows"][0]["note"] = "<img src=x onerror=alert(1)>"
    return made


@pytest.fixture
def page(register: dict[str, Any]) -> Iterator[Page]:
    texts, said = answers(register), []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(**launch_options(playwright))
        shown = browser.new_page(viewport={"width": 390, "height": 844})
        shown.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
        shown.on("pageerror", lambda error: said.append(str(error)))

        def give(route: Route) -> None:
            body, kind = texts.get(route.request.url.removeprefix(SITE), ("", "text/plain"))
            headers = {"Content-Type": f"{kind}; charset=utf-8", "Content-Security-Policy": POLICY}
            route.fulfill(status=200, body=body, headers=headers)

        shown.route("**/*", give)
        shown.goto(f"{SITE}/")
        shown.wait_for_selector("body[data-ready=yes]")
        yield shown
        browser.close()
    assert said == []


def rows(page: Page) -> int:
    return page.locator(".limit-row").count()


def test_every_row_can_be_reached(page: Page, register: dict[str, Any]) -> None:
    total = len(register["rows"])
    assert page.inner_text("[role=status]") == f"{total} of {total} rows"
    for _ in range(total // 60):
        page.click("button:has-text('more')")
    assert rows(page) == total
    assert page.locator("button").count() == 0


def test_the_filters_find_a_row_and_a_tap_tells_all_of_it(page: Page, register: dict[str, Any]) -> None:
    page.select_option("select >> nth=0", "spleen")
    page.select_option("select >> nth=1", "cat")
    page.fill("input", "Reese")
    assert rows(page) == 1
    assert "sources differ" in page.inner_text(".limit-differ")
    row = next(row for row in register["rows"] if row["id"] == "spl-cat")
    cited = next(one["citation"] for one in register["sets"] if one["source"] == row["source"])
    page.click(".limit-row summary")
    told = page.inner_text(".limit-row")
    for words in (row["animals"], row["use_words"], row["n"], row["population"], row["known"], cited, "spl-cat"):
        assert words in told
    page.fill("input", "no such words")
    assert (rows(page), page.inner_text("[role=status]")) == (0, f"0 of {len(register['rows'])} rows")


def test_what_the_practice_changed_is_said(page: Page) -> None:
    assert "limits-2026.11.1+p2" in page.inner_text("#limits")
    off = page.locator(".limit-off").first
    assert "switched off by the practice (was: limit)" in off.inner_text()
    page.click("summary:has-text('Thresholds of ours')")
    assert re.search(
        r"class edge\s+weight within this share of a class edge\s+share of the value\s+0\.05",
        page.inner_text("#limits"),
    )


def test_text_is_text(page: Page) -> None:
    page.fill("input", "onerror")
    page.click(".limit-row summary")
    assert "<img src=x onerror=alert(1)>" in page.inner_text(".limit-row")
    assert page.locator("img").count() == 0


def test_rows_are_large_enough_for_a_thumb_and_fit_the_screen(page: Page) -> None:
    box = page.locator(".limit-row summary").first.bounding_box()
    assert box is not None and box["height"] >= 56
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
