"""Every page of the desk at 1440 x 900: what axe can name, and what it does not look at."""

from playwright.sync_api import Page

from e2e import every_page
from e2e.desk import MOST_TABS, Keyboard
from e2e.servers import Server
from e2e.test_accessible import faults
from e2e.test_exam_page import exam_of

WIDE = "() => document.documentElement.scrollWidth - innerWidth"
TEXT = r"""() => [document.body.innerText, ...[...document.querySelectorAll("input:not([type=hidden]), textarea")]
  .map((one) => one.value)].join("\n").match(/\b[0-9]{4}-[0-9]{2}-[0-9]{2}\b/g) ?? []"""
# Classes of tables whose first whole row does not stand under its headings.
ASKEW = r"""() => [...document.querySelectorAll("table")].filter((table) => {
  const heads = table.tHead?.rows[0];
  const row = [...table.tBodies].flatMap((body) => [...body.rows])
    .find((one) => heads && one.offsetParent && one.cells.length === heads.cells.length);
  const left = (cells) => [...cells].map((cell) => cell.getBoundingClientRect().left);
  return row && left(row.cells).some((at, place) => Math.abs(at - left(heads.cells)[place]) > 2);
}).map((table) => table.className)"""
# Whether anything lies over the middle of what has the focus.
COVERED = r"""() => {
  const here = document.activeElement;
  const box = here.getBoundingClientRect();
  const over = document.elementFromPoint(box.left + Math.min(box.width / 2, 40), box.top + box.height / 2);
  return !(over && (here.contains(over) || [...(here.labels ?? [])].some((label) => label.contains(over))));
}"""


def test_no_page_has_a_fault(desk: Page, server: Server) -> None:
    """Nothing that axe names, nothing wider than the screen, days as people write them, tables under their headings."""
    pages, cookie = every_page.of_desk(server.instance)
    assert len(pages) > 40 and "/review/exam/<exam>, signed" in pages, sorted(pages)
    desk.context.add_cookies([{"name": every_page.COOKIE, "value": cookie, "url": server.address}])
    found: dict[str, list[str]] = {}
    for route, where in pages.items():
        desk.goto(server.address + where)
        told = faults(desk)
        told += [f"{one} px too wide" for one in [desk.evaluate(WIDE)] if one > 0]
        told += [f"{one}: no day as people write it" for one in sorted(set(desk.evaluate(TEXT)))]
        told += [f"a table is askew: {one}" for one in desk.evaluate(ASKEW)]
        if told:
            found[route] = told
    assert found == {}


def test_nothing_lies_over_what_has_the_focus_beside_an_exam(desk: Page, server: Server) -> None:
    """WCAG 2.4.11: the signature's bar stays in sight, and no field that the keyboard comes to lies behind it."""
    keyboard = Keyboard(desk)
    keyboard.sign_in(server)
    desk.goto(f"{server.address}/review/exam/{exam_of('Heather')}")
    keyboard.press("i")
    covered, seen = [], 0
    for _ in range(MOST_TABS):
        if not desk.evaluate("() => Boolean(document.activeElement.closest('.work'))"):
            break
        seen += 1
        if desk.evaluate(COVERED):
            covered.append(desk.evaluate("() => document.activeElement.outerHTML.slice(0, 120)"))
        keyboard.press("Tab")
    assert covered == []
    assert seen > 8, "the fields of the form and both buttons"
