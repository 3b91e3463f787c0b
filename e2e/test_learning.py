"""The own reference and the figures for learning at a desk: by keyboard, without faults that axe can name, in print."""

import os
import random
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from e2e.appointments import at_the_desk
from e2e.desk import Keyboard
from e2e.hands import shot
from e2e.servers import Server
from e2e.test_accessible import faults
from e2e.watch import Watch
from tests.own_reference.practice import KIDNEY, exam, known_healthy
from webapp.store import healthy

CATS = f"/own-reference/group?species=cat&quantity={KIDNEY}"


def printed(page: Page, name: str) -> None:
    """The page as paper shows it, whole."""
    folder = os.environ.get("GELSIDE_SHOTS")
    page.emulate_media(media="print")
    if folder:
        page.pdf(path=Path(folder) / f"e2e-{name}.pdf", format="A4", print_background=False)
    page.emulate_media(media="screen")


@pytest.fixture
def many(server: Server) -> Server:
    """120 healthy cats, one of them far from the rest, and one more whose value was left out."""
    chance = random.Random(11)
    values = [f"{chance.gauss(40.5, 2.3):.1f}" for _ in range(119)] + ["57.0"]
    with at_the_desk(server) as practice:
        known_healthy(practice.db, *[exam(value, sex=chance.choice(("female", "male"))) for value in values])
        last = exam("61.3", name="Solo")
        known_healthy(practice.db, last)
        why = {"counted": False, "why": "One kidney since birth, known before the exam."}
        healthy.say(practice.db, healthy.of_value(str(last.exam), KIDNEY), why, "RD", "")
    return server


def test_an_exam_is_marked_by_keyboard_and_stands_in_its_group(desk: Page, server: Server, watch: Watch) -> None:
    watch.expect("422 (Unprocessable Entity)")
    keys = Keyboard(desk)
    keys.sign_in(server)
    desk.goto(f"{server.address}/own-reference")
    assert faults(desk) == []
    keys.write(desk.locator("#text"), "mar")
    keys.press("Enter")
    keys.tab_to(desk.get_by_role("link", name="Marmalade"))
    keys.press("Enter")
    expect(desk.get_by_role("heading", name="Not marked as of a healthy animal")).to_be_visible()
    assert faults(desk) == []
    keys.tab_to(desk.locator("#submit"))
    keys.press("Enter")
    expect(desk.get_by_role("alert").first).to_be_visible()
    assert faults(desk) == []
    keys.write(desk.locator("#known"), "Well a year later; blood without findings.")
    keys.tab_to(desk.locator("#submit"))
    keys.press("Enter")
    expect(desk.get_by_role("heading", name="Marked as of a healthy animal")).to_be_visible()
    shot(desk, "healthy-exam")
    desk.goto(f"{server.address}{CATS}")
    expect(desk.get_by_text("1 animal: too few")).to_be_visible()
    assert faults(desk) == []


def test_own_limits_of_120_cats_are_shown_printed_and_made_a_row(desk: Page, many: Server) -> None:
    keys = Keyboard(desk)
    keys.sign_in(many)
    desk.goto(f"{many.address}{CATS}")
    expect(desk.get_by_role("heading", name="Own limits, 120 animals")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "own-reference")
    desk.get_by_role("heading", name="Rows of the register").scroll_into_view_if_needed()
    shot(desk, "own-reference-rows")
    printed(desk, "own-reference")
    keys.tab_to(desk.locator("[name=use]").first)
    keys.press("Space")
    keys.tab_to(desk.get_by_role("button", name="Make it a row of the register"))
    keys.press("Enter")
    expect(desk).to_have_url(f"{many.address}/limits/own")
    expect(desk.get_by_text("own data, exams")).to_be_visible()
    desk.goto(f"{many.address}/own-reference")
    shot(desk, "own-reference-all")


def test_the_figures_for_learning(desk: Page, server: Server, watch: Watch) -> None:
    watch.expect("422 (Unprocessable Entity)")
    keys = Keyboard(desk)
    keys.sign_in(server)
    desk.goto(f"{server.address}/learning")
    expect(desk.get_by_text("exams finished at the table")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "learning")
    for heading in ("Minutes per exam", "Flags left so", "Spread of repeat"):
        desk.get_by_role("heading", name=heading).scroll_into_view_if_needed()
        shot(desk, f"learning-{heading.split()[0].lower()}")
    printed(desk, "learning")
    keys.write(desk.locator("#first"), "17 Nov 2026")
    keys.press("Enter")
    expect(desk.get_by_text("From 17 Nov 2026 on")).to_be_visible()
    keys.write(desk.locator("#last"), "the day before")
    keys.press("Enter")
    expect(desk.get_by_role("alert")).to_be_visible()
    expect(desk.locator("#last")).to_have_value("the day before")
    assert faults(desk) == []
