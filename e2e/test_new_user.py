"""A whole exam as somebody records it who knows the README alone: the phone's link, no network, one thumb, a dim room.

The animal is the demo's cat whose ideal weight and weight lie in different classes. What the hand looks for is what the
screen says; nothing is scrolled but by the buttons for it, and every screen on the way gives a picture.
"""

from typing import Any

from playwright.sync_api import Page, expect

from demo import seed
from e2e.hands import shot
from e2e.records import phone_entries, wait_sent
from e2e.servers import Server
from e2e.test_start import LIST_WITHIN_MS, wait_for_list
from e2e.thumb import Thumb

EXAM = "DP10-E2"


def told(exam_id: str) -> list[dict[str, Any]]:
    """What the demo's file says of the exam, structure by structure, without parts."""
    rows: list[dict[str, Any]] = next(exam for _, exam in seed.exams() if exam["id"] == exam_id)["structures"]
    return [row for row in rows if row["about"] in
            ("liver", "gallbladder", "adrenal.left", "duodenum", "jejunum", "ileum", "node.jejunal", "aorta")]


def structure(thumb: Thumb, row: dict[str, Any]) -> None:
    thumb.go(row["about"])
    for reading in row.get("readings", []):
        thumb.read(reading["quantity"], *reading["values"])
    shot(thumb.page, f"new-user-{row['about']}")
    for found in row.get("findings", []):
        thumb.finding(found["finding"], text=found.get("text", ""))
    if row.get("described"):
        thumb.act("more")
        thumb.tap_words("describe it")
        for words in row["described"].values():
            for word in words:
                thumb.tap_words(word)
        shot(thumb.page, f"new-user-{row['about']}-described")
        before = thumb.saved()
        thumb.act("describe-done")
        thumb.wait_saved(before + len(row["described"]))
    if row.get("findings"):
        thumb.note(row["note"])
    before = thumb.saved()
    thumb.act("normal")
    thumb.wait_saved(before + 1)


def test_a_new_user_records_the_thick_bowel_of_a_cat_without_network(
    phone: Page, server: Server, phone_link: str
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    expect(phone.locator("body[data-offline=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    server.stop()
    shot(phone, "new-user-1-list")
    thumb = Thumb(phone)
    thumb.tap(phone.locator("[data-visit]", has_text="Figaro"))
    shot(phone, "new-user-2-start")
    thumb.tap_words("V. Sorrel")
    shot(phone, "new-user-2b-start-said")
    thumb.tap_words("scales today")
    thumb.keys("4.4")
    thumb.tap('[data-tab="sedation"]')
    thumb.tap_words("butorphanol")
    shot(phone, "new-user-3-sedation")
    thumb.act("begin")
    expect(phone.locator("body[data-screen=exam][data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    shot(phone, "new-user-4-first")
    thumb.act("animal")
    shot(phone, "new-user-5-animal")
    for key in "3.8":
        thumb.tap(f'.size-keys [data-key="{key}"]')
    thumb.tap_words("keep as ideal weight")
    thumb.act("back")
    for row in told(EXAM):
        structure(thumb, row)
    thumb.wait_judged()
    thumb.go("adrenal.left")
    line = phone.locator('[data-about="adrenal.left.maximum_thickness"]').first
    expect(line).to_contain_text("above 3.9 mm")
    thumb.tap(line)
    shot(phone, "new-user-6-line")
    thumb.act("close")
    thumb.act("all")
    shot(phone, "new-user-7-all")
    thumb.act("back")
    thumb.act("open-sheet")
    shot(phone, "new-user-8-sheet")
    thumb.tap('[data-answer="yes"]')
    shot(phone, "new-user-9-sheet-end")
    thumb.act("close-exam")
    expect(phone.locator("body[data-screen=list]")).to_be_attached()
    shot(phone, "new-user-10-list")
    values = [entry["body"]["value"] for entry in phone_entries(phone) if entry["kind"] == "read"]
    expected = [value for row in told(EXAM) for reading in row.get("readings", []) for value in reading["values"]]
    assert values == expected
    server.start()
    phone.evaluate("dispatchEvent(new Event('online'))")
    wait_sent(phone)
    print(f"{thumb.taps} taps, {thumb.onwards} of them to go on")
