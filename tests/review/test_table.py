"""The exam as one table by structure: every number opens to its readings; what was asked before; photos in place."""

import re
from collections.abc import Callable

from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import DAY, EXAM, PATIENT, Phone, whole_exam
from tests.review.desk import Vet
from webapp.store import desk, journal

Enter = Callable[..., FlaskClient]
POLE = "adrenal.left.caudal_pole_thickness"


def arrive(db: Database, *phones: Phone) -> None:
    for phone in phones:
        journal.append(db, phone.written, "phone")


def group(page: str, structure: str) -> str:
    """The part of the table that one structure has."""
    return page.split(f'id="structure-{structure}"', 1)[1].split("</tbody>", 1)[0]


def earlier(day: str, *values: str, device: str = "01" * 16, weight: str = "4.9") -> Phone:
    phone = Phone(device, exam=f"exam-{day}")
    patient = {"name": "Pepper", "species": "dog", "weight_kg": weight, "age_months": 100}
    phone.act("opened", {"about": "exam", "date": day, "patient": patient})
    for value in values:
        phone.read(POLE, value)
    return phone


def test_a_number_opens_to_its_readings_with_plane_cut_depth_image_and_the_persons_note(
    db: Database, sign_in: Enter
) -> None:
    phone = Phone()
    phone.opened()
    facts = {"plane": "long_axis", "cut": "oblique", "image": "IM0041", "view": "partly", "recumbency": "dorsal"}
    facts |= {"depth_mm": "51", "rows": "480", "window": "left_flank", "note": "breathing hard"}
    phone.read(POLE, "6.2", typed="6,2", **facts)
    arrive(db, phone)
    row = group(Vet(sign_in()).page, "adrenal.left").split(f'id="row-{POLE}"', 1)[1].split("</tr>", 1)[0]
    opened = row.split("<details>", 1)[1].split("</details>", 1)[0]
    for words in (
        "6.2 mm, typed “6,2”",
        "long axis",
        "oblique cut",
        "partly view",
        "dorsal",
        "window: left flank",
        "depth 51 mm",
        "480 rows",
        "image IM0041",
        "“breathing hard”",
        "VS, 24 Nov 2026 10:02",
    ):
        assert words in opened, words


def test_seen_findings_notes_and_readings_of_a_structure_stand_together_those_asked_first(
    db: Database, sign_in: Enter
) -> None:
    phone = whole_exam()
    phone.act("found", {"about": "adrenal.right", "finding": "nodule", "image": "IM7"})
    arrive(db, phone)
    page = Vet(sign_in()).page
    right = group(page, "adrenal.right")
    assert "cranial pole: not seen (gas)" in right
    assert "nodule, image IM7" in right
    assert "4.4 mm" in right
    assert "Capsule smooth." in group(page, "adrenal.left")
    assert page.index('id="structure-adrenal.left"') < page.index('id="structure-liver"')


def test_history_and_medication_of_the_visit_stand_beside_the_question(db: Database, sign_in: Enter) -> None:
    facts = {"date": DAY, "history": "Thirsty since June.", "medication": "Prednisolone 5 mg", "requested_by": "Dr Elm"}
    visit = desk.act(db, "planned", {"about": "visit", **facts}, author="RD", patient=PATIENT)
    phone = Phone()
    phone.act("opened", {"about": "exam", "date": DAY, "visit": visit, "patient": {"species": "dog"}})
    arrive(db, phone)
    page = Vet(sign_in()).page
    top = page[: page.index("Flags")]
    assert "Thirsty since June." in top
    assert "Prednisolone 5 mg" in top
    assert "Dr Elm" in top


def test_an_exam_that_names_no_visit_gets_the_only_one_of_its_day_and_else_says_there_is_none(
    db: Database, sign_in: Enter
) -> None:
    arrive(db, whole_exam())
    assert "No visit was planned for this exam" in Vet(sign_in()).page
    body = {"about": "visit", "date": DAY, "history": "Thirsty since June."}
    desk.act(db, "planned", body, author="RD", patient=PATIENT)
    assert "Thirsty since June." in Vet(sign_in()).page
    desk.act(db, "planned", body | {"history": "Another story."}, author="RD", patient=PATIENT)
    assert "No visit was planned for this exam" in Vet(sign_in()).page


def test_what_lies_outside_is_drawn_over_the_animals_exams_with_every_reading(db: Database, sign_in: Enter) -> None:
    arrive(db, earlier("2026-02-12", "5.0", "5.2"), whole_exam())
    left = group(Vet(sign_in()).page, "adrenal.left")
    drawn = re.findall(r"<svg.*?</svg>", left, re.DOTALL)
    pole = next(one for one in drawn if "LEFT adrenal, caudal pole thickness over 2 exams" in one)
    assert pole.count('data-mark="reading"') == 4
    assert "readings 5.0, 5.2" in left
    assert "style=" not in pole


def test_what_came_after_the_signature_is_in_no_plot_of_the_signed_exam(db: Database, sign_in: Enter) -> None:
    phone = whole_exam()
    arrive(db, earlier("2026-02-12", "5.0", "5.2"), phone)
    vet = Vet(sign_in())
    vet.sign()
    phone.read(POLE, "9.9")
    journal.append(db, phone.written[-1:], "phone")
    page = vet.look().page
    assert "Arrived after signing" in page
    assert "9.9" not in group(page, "adrenal.left")


def test_the_earlier_value_leads_to_both_exams_side_by_side(db: Database, sign_in: Enter) -> None:
    arrive(db, earlier("2026-02-12", "5.0", "5.2"), whole_exam())
    browser = sign_in()
    page = Vet(browser).page
    address = f"/review/exam/{EXAM}/beside/exam-2026-02-12"
    assert f'href="{address}#row-{POLE}"' in page
    assert f'href="{address}">12 Feb 2026</a>' in page


def test_days_in_the_rules_words_are_written_as_people_write_them(db: Database, sign_in: Enter) -> None:
    arrive(db, earlier("2026-02-12", "5.0", "5.2"), whole_exam())
    flags = Vet(sign_in()).page.split("Flags", 1)[1].split("</section>", 1)[0]
    assert "12 Feb 2026" in flags
    assert "2026-02-12" not in flags


def test_a_photo_stands_with_its_structure(db: Database, sign_in: Enter) -> None:
    phone = whole_exam()
    body = {"about": "adrenal.left", "hash": "c" * 64, "type": "image/jpeg", "size": 9}
    name = phone.act("attached", body)
    arrive(db, phone)
    page = Vet(sign_in()).page
    assert f'href="#attached-{name[:12]}"' in group(page, "adrenal.left")
    assert f'id="attached-{name[:12]}"' in page
