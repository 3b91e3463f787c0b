"""A person's own order and short words: refused where they could change a meaning, and told to phones."""

import html
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.conftest import BEARER, form_token
from webapp import rules
from webapp.accounts.ways import read_order, read_phrases
from webapp.store import ways


def post(browser: FlaskClient, order: str = "", phrases: str = "") -> tuple[int, str]:
    token = form_token(browser.get("/account/ways").text)
    answer = browser.post("/account/ways", data={"order": order, "phrases": phrases, "csrf_token": token})
    return answer.status_code, html.unescape(answer.text)


def test_an_order_and_short_words_are_kept_and_told_to_phones(
    db: Database, client: FlaskClient, sign_in: Callable[..., FlaskClient]
) -> None:
    assert post(sign_in(), "RIGHT kidney\nliver", "lkok = left kidney seen normal")[0] == 302
    made = {"order": ["kidney.right", "liver"], "phrases": {"lkok": "left kidney seen normal"}}
    assert ways.of(db, "RD") == made
    told = client.get("/api/practice", headers=BEARER).json
    assert told["ways"] == {"RD": made}
    page = html.unescape(sign_in().get("/account/ways").text)
    assert page.index("RIGHT kidney") < page.index("\nLiver") and "lkok = left kidney seen normal" in page


def test_earlier_ways_stay_and_the_same_again_adds_nothing(
    db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    browser = sign_in()
    for order in ("liver", "spleen", "spleen"):
        post(browser, order)
    rows = list(db.query("select person, ways from own_ways order by id"))
    assert len(rows) == 2 and "liver" in rows[0]["ways"]


@pytest.mark.parametrize(
    ("phrases", "told"),
    [
        ("normal = left kidney", "means something to the reader already"),
        ("liver = spleen", "means something to the reader already"),
        ("lk = left kidney", "means something to the reader already"),
        ("x9 = left kidney", "is no short word"),
        ("bigk = left kidney 62", "stands for a number"),
        ("abcd", "has no ="),
        ("abcd =", "needs words"),
        ("abcd = liver\nabcd = spleen", "stands twice"),
    ],
)
def test_a_short_word_that_could_mislead_is_refused_and_stays_in_the_form(
    db: Database, sign_in: Callable[..., FlaskClient], phrases: str, told: str
) -> None:
    status, page = post(sign_in(), "", phrases)
    assert status == 422 and told in page and phrases.splitlines()[0] in page
    assert ways.of(db, "RD") == ways.NONE


def test_an_order_names_known_structures_once() -> None:
    assert read_order("liver\n\n Liver ") == (["liver"], ["“Liver” stands twice."])
    assert read_order("gall")[1] == ["“gall” is no structure: write it as it stands on the phone."]
    every = [row["label"] for row in rules.worded()["catalogue"]["structures"]]
    found, errors = read_order("\n".join(reversed(every)))
    assert len(found) == len(every) and errors == []


def test_what_a_short_word_stands_for_is_read_like_any_words() -> None:
    found, errors = read_phrases("lkok = left kidney seen normal")
    assert errors == []
    asked = {"do": "phrase", "text": found["lkok"], "species": "dog", "unit": "mm"}
    assert [one["do"] for one in rules.call(asked)["proposals"]] == ["normal"]
