"""Animals at the desk, by hand: how long a search, a record's page and an import take with many records.

    .venv/bin/python -m tests.bench.animals --animals 5000

Takes invented animals in from a file, then opens pages through the application as a browser would, without the
network. Prints figures; asserts nothing. The file is made in a folder of its own and removed.
"""

import argparse
import random
import statistics
import tempfile
import time
from pathlib import Path

from flask.testing import FlaskClient

from tests.conftest import PASSWORD, form_token
from webapp import create_app
from webapp.animals import words
from webapp.exchange import columns, importing
from webapp.exchange.ready import Choices
from webapp.store import people
from webapp.store.db import open_database

SYLLABLES = [first + second for first in "bdklmnprst" for second in "aeio"]
TIMES = 20


def animals(many: int) -> bytes:
    """A file of invented animals, about as long as real ones are."""
    chance = random.Random(5)
    breeds = words.breeds()
    rows = ["number,name,species,breed,sex,born,weight,microchip,owner"]
    for number in range(many):
        species = chance.choice(["dog", "cat"])
        name = "".join(chance.choice(SYLLABLES) for _ in range(chance.randint(2, 3))).capitalize()
        owner = "".join(chance.choice(SYLLABLES) for _ in range(3)).capitalize()
        weight = chance.uniform(3, 40) if species == "dog" else chance.uniform(3, 7)
        rows.append(f"{number},{name},{species},{chance.choice(breeds[species])},{chance.choice(['FN', 'MN', 'F'])},"
                    f"20{chance.randint(10, 25)}-0{chance.randint(1, 9)}-1{chance.randint(0, 9)},{weight:.1f},"
                    f"{276_000_000_000_000 + number},{owner}")
    return "\n".join(rows).encode()


def told(words_: str, times: list[float]) -> None:
    """The middle and the longest of the times, in ms."""
    print(f"{words_}: median {1000 * statistics.median(times):.0f} ms, longest {1000 * max(times):.0f} ms")


def opened(browser: FlaskClient, words_: str, address: str) -> None:
    """Open a page several times and tell how long it took."""
    times = []
    for _ in range(TIMES):
        began = time.perf_counter()
        answer = browser.get(address)
        times.append(time.perf_counter() - began)
        if answer.status_code != 200:
            raise RuntimeError(answer.text)
    told(words_, times)


def signed_in(browser: FlaskClient) -> None:
    token = form_token(browser.get("/sign-in").text)
    answer = browser.post("/sign-in", data={"person": "RD", "password": PASSWORD, "csrf_token": token})
    if answer.status_code != 302:
        raise RuntimeError(answer.text)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--animals", type=int, default=5_000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="gelside-bench-") as folder:
        path = Path(folder) / "practice.sqlite3"
        db = open_database(path)
        people.add(db, "RD", "R. Dale", "reviewer, admin", PASSWORD)
        data, choices = animals(given.animals), Choices(columns.ANIMALS, "Oldbook")
        for what in ("import, all new", "import, the same again"):
            began = time.perf_counter()
            taken = importing.take(db, data, choices, "RD")
            print(f"{what:<38} {time.perf_counter() - began:7.1f} s   {taken.entries:,} entries", flush=True)
        browser = create_app({"DATABASE": str(path), "SECRET_KEY": "bench"}).test_client()
        signed_in(browser)
        opened(browser, "search, nothing asked", "/animals")
        opened(browser, "search, two letters", "/animals?q=ba")
        opened(browser, "search, name and breed", "/animals?q=kalo+beagle")
        opened(browser, "search, a chip", "/animals?q=276+000+000+001+234")
        opened(browser, "search, found nothing", "/animals?q=nobody+here")
        patient = next(db.query("select patient from animals limit 1"))["patient"]
        opened(browser, "a record, with likely twins", f"/animals/{patient}")
        opened(browser, "all animals as CSV", "/exchange/animals.csv")
        db.close()


if __name__ == "__main__":
    main()
