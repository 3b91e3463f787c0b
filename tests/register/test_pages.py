"""The register's pages: every row, filtered on the server, with its source; and the same as a file."""

import csv
import io
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from tests.register.desk import Desk
from webapp import rules
from webapp.register import listing

Enter = Callable[..., FlaskClient]
ROWS = rules.tables()["limits"]["rows"]


def ids(filter: listing.Filter) -> list[str]:
    return [row["id"] for row in listing.rows(listing.register(None), filter)]


def test_every_row_stands_on_the_page_with_its_source(sign_in: Enter) -> None:
    page = Desk(sign_in()).page()
    assert [row["id"] for row in ROWS if f'id="row-{row["id"]}"' not in page] == []
    assert "291 of 291 rows" in page
    assert "Melián C, Pérez-López L" in page and "10.1002/vetr.80" in page
    assert "sources differ: 2 to 2.4 mm (Goggin et al. 2000)" in page


def test_nobody_sees_it_without_signing_in(client: FlaskClient) -> None:
    for address in ("/limits", "/limits/register.csv", "/limits/sets", "/limits/own", "/spread"):
        assert client.get(address).location.startswith("/sign-in"), address


def test_the_filter_is_in_the_address_and_stays_in_the_form(sign_in: Enter) -> None:
    page = Desk(sign_in()).page("/limits?structure=spleen&species=cat&use=limit")
    assert "1 of 291 rows" in page and 'id="row-spl-cat-10"' in page
    assert '<option value="spleen" selected>' in page and '<option value="cat" selected>' in page


@pytest.mark.parametrize(
    ("asked", "wanted"),
    [
        (listing.Filter(use="alert"), [row["id"] for row in ROWS if row["use"] == "alert"]),
        (listing.Filter(use="criterion"), [row["id"] for row in ROWS if row["use"] == "criterion"]),
        (listing.Filter(species="cat"), [row["id"] for row in ROWS if "cat" in row["species"]]),
        (listing.Filter(text="MELIÁN veterinary"), [row["id"] for row in ROWS if row["source"] == "s001"]),
        (listing.Filter(text="melian2021 RIGHT 6.8"), ["melian2021_5_10_right"]),
        (listing.Filter(text="no such words anywhere"), []),
        (listing.Filter(structure="spleen", use="record", species="dog"), ["spl-dog"]),
    ],
)  # fmt: skip
def test_the_filter_lets_through(asked: listing.Filter, wanted: list[str]) -> None:
    assert ids(asked) == wanted


def test_the_kinds_of_use_cover_all_rows_once() -> None:
    counted = [len(ids(listing.Filter(use=use))) for use in listing.USES]
    assert sum(counted) == len(ROWS)


def test_what_is_no_choice_is_as_good_as_not_given(sign_in: Enter) -> None:
    page = Desk(sign_in()).page("/limits?use=everything&species=horse")
    assert "291 of 291 rows" in page
    assert "No row has all of that" in Desk(sign_in()).page("/limits?structure=wing")


def test_words_typed_into_the_filter_are_shown_as_words(sign_in: Enter) -> None:
    answer = sign_in().get("/limits?text=<script>alert(1)</script>")
    assert "<script>alert" not in answer.text and "&lt;script&gt;" in answer.text


def test_the_file_holds_the_filtered_rows_for_a_spreadsheet(sign_in: Enter) -> None:
    answer = sign_in().get("/limits/register.csv?structure=adrenal&species=dog")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="gelside-limits-2026.11.1.csv"'
    assert answer.data.startswith(b"\xef\xbb\xbf")
    found = list(csv.DictReader(io.StringIO(answer.data.decode("utf-8-sig"))))
    assert [row["id"] for row in found] == ids(listing.Filter("adrenal", "dog"))
    row = next(row for row in found if row["id"] == "melian2021_5_10_left")
    assert (row["upper"], row["unit"], row["use"]) == ("5.5", "mm", "limit")
    assert "Melián" in row["source"] and row["how known"] == "read: abstract or opening"


def test_a_cell_is_never_a_formula() -> None:
    row = dict.fromkeys(listing.COLUMNS, "") | {"note": "=1+1", "population": "@cmd", "n": "-5", "animals": "dogs"}
    cells = next(csv.DictReader(io.StringIO(listing.as_csv([row]))))
    assert (cells["note"], cells["population"], cells["n"], cells["animals"]) == ("'=1+1", "'@cmd", "'-5", "dogs")


def test_sets_are_listed_by_source_with_how_many_judge(sign_in: Enter) -> None:
    page = Desk(sign_in()).page("/limits/sets")
    assert page.count('value="source|') == len({row["source"] for row in ROWS})


def test_our_thresholds_stand_there_as_ours(sign_in: Enter) -> None:
    page = Desk(sign_in()).page("/limits/thresholds")
    assert "choices of this program, not published figures" in page
    for name, value in (("readings_disagree.share", "0.15"), ("adult_months", "12"), ("oblique_cut.pair_mm", "0.5")):
        assert f'id="number-{name}"' in page and f'value="{value}"' in page
    assert 'id="number-normal_95.z"' not in page
