"""A distance on a still of the scanner, measured at the desk by clicks and by keys alone; axe finds no fault."""

import io
import re

import pydicom
from playwright.sync_api import Locator, Page, expect
from pydicom.data import get_testdata_file

from demo import seed
from e2e.desk import Keyboard
from e2e.hands import shot
from e2e.servers import Server
from e2e.test_accessible import faults
from tests.exchange.signed import of_demo
from webapp.exchange import dicom_sr

RUFUS = "DP06"
MM = 0.2622878766196998  # for one pixel of this file, as it says


def still(name: str) -> bytes:
    """pydicom's own uncompressed still of 800 by 600 pixels."""
    data = pydicom.dcmread(str(get_testdata_file("OBXXXX1A.dcm")))
    data.PatientName, data.PatientID, data.PatientSex, data.PatientBirthDate = name, "", "", ""
    made = io.BytesIO()
    data.save_as(made)
    return made.getvalue()


def exam_of(name: str) -> str:
    """The newest exam of an invented animal."""
    from demo import acts

    patient = next(row for row in seed.practice()["patients"] if row["id"] == name)
    return str(acts.exam_id(patient["exams"][-1]))


def send(desk: Page, server: Server, data: bytes) -> None:
    Keyboard(desk).sign_in(server)
    desk.goto(f"{server.address}/review/exam/{exam_of(RUFUS)}")
    desk.get_by_role("link", name="A DICOM file for this exam").click()
    assert faults(desk) == []
    desk.locator("[name=file]").set_input_files({"name": "x.dcm", "mimeType": "application/dicom", "buffer": data})
    desk.get_by_role("button", name="Look at the file").click()


def click(stage: Locator, x: int, y: int) -> None:
    stage.click(position={"x": x + 0.5, "y": y + 0.5})


def test_two_clicks_then_keys_measure_and_keep_a_distance(desk: Page, server: Server) -> None:
    send(desk, server, still("Stone^Otto"))
    expect(desk.get_by_text("The file names another animal")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "still-another-animal")
    desk.get_by_label("It is this animal's all the same").check()
    desk.get_by_role("button", name="Keep the still").click()

    stage, result = desk.locator("#stage"), desk.locator("#result")
    expect(result).to_contain_text("mm, standard uncertainty")
    click(stage, 300, 200)
    click(stage, 330, 240)
    expect(result).to_have_text("13.1 mm, standard uncertainty by the pixels 0.11 mm")
    expect(desk.locator("#x1")).to_have_value("300")
    expect(desk.locator("#y2")).to_have_value("240")
    assert faults(desk) == []
    shot(desk, "still-clicked")

    keyboard = Keyboard(desk)
    desk.locator("#zoom button").nth(1).click()
    click(stage, 330 * 2, 260 * 2)  # the next click is the first point's again, at twice the size
    expect(desk.locator("#x1")).to_have_value("330")
    expect(desk.locator("#y1")).to_have_value("260")
    desk.locator("#zoom button").nth(0).click()

    keyboard.tab_to(desk.locator("#point-1"), back=True)
    keyboard.press("Shift+ArrowDown", "Shift+ArrowDown", "ArrowDown", "ArrowLeft")
    expect(desk.locator("#y1")).to_have_value("281")
    expect(desk.locator("#point-1")).to_have_attribute("aria-label", re.compile("column 329, row 281"))
    keyboard.press("ArrowRight", "ArrowUp")
    expect(result).to_have_text("10.5 mm, standard uncertainty by the pixels 0.11 mm")
    keyboard.tab_to(desk.locator("#quantity"))
    keyboard.type("Spleen")
    keyboard.tab_to(desk.get_by_role("button", name="Keep as a reading"))
    keyboard.press("Enter")
    expect(desk.get_by_text("Spleen, body thickness: 10.5 mm, standard uncertainty")).to_be_visible()
    expect(desk.get_by_text("column 330, row 280 and column 330, row 240")).to_be_visible()
    assert round(40 * MM, 1) == 10.5
    assert faults(desk) == []
    shot(desk, "still-kept")
    desk.goto(f"{server.address}/review/exam/{exam_of(RUFUS)}")
    expect(desk.get_by_role("link", name="measure on it")).to_be_visible()
    assert faults(desk) == []


def test_numbers_of_a_report_are_taken_one_by_one(desk: Page, server: Server) -> None:
    send(desk, server, dicom_sr.written(of_demo(RUFUS), "Another practice", False))
    expect(desk.get_by_role("heading", name="Its numbers")).to_be_visible()
    assert faults(desk) == []
    shot(desk, "report-numbers")
    row = desk.get_by_role("row", name=re.compile("LEFT adrenal, caudal pole thickness.* 2.8 mm")).first
    row.get_by_role("button", name="Take").click()
    expect(desk.get_by_text("LEFT adrenal, caudal pole thickness: 2.8 mm is kept under your name.")).to_be_visible()
    expect(row).to_contain_text("taken, see the exam's readings")
    assert faults(desk) == []
    shot(desk, "report-number-taken")
