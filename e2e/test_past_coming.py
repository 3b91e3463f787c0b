"""The list comes before the exams of the past: what is begun meanwhile is compared with them once they are here."""

from playwright.sync_api import Page, expect

from e2e.between import Between
from e2e.hands import Hands, shot
from e2e.servers import Server
from e2e.test_start import LIST_WITHIN_MS

CAUDAL = "adrenal.left.caudal_pole_thickness"


def test_an_exam_begun_before_those_of_the_past_came_is_compared_with_them_when_they_do(
    phone: Page, server: Server, between: Between, phone_link: str
) -> None:
    between.past.clear()
    phone.goto(phone_link.replace(server.address, between.address))
    pepper = phone.locator("[data-visit]", has_text="Pepper")
    expect(pepper).to_contain_text("earlier exams may still be coming", timeout=LIST_WITHIN_MS)
    expect(phone.locator("body[data-engine=ready]")).to_be_attached(timeout=LIST_WITHIN_MS)
    hands = Hands(phone)
    hands.begin_visit("Pepper")
    hands.go("adrenal.left")
    expect(phone.locator("[data-coming]")).to_be_visible()
    hands.read(CAUDAL, "4.8")
    hands.wait_judged()
    expect(hands.row(CAUDAL)).not_to_contain_text("last")
    shot(phone, "past-coming")
    between.past.set()
    expect(hands.row(CAUDAL)).to_contain_text("last 4.6", timeout=LIST_WITHIN_MS)
    expect(phone.locator("[data-coming]")).to_have_count(0)
