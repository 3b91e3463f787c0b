"""The phone's entry making (static/app/entry.js, in node) and the server's (store.entries) give the same bytes and ids.

The identity of an entry is the hash of bytes that either side may have made, so a difference of one character would
be another entry. Outside checks: RFC 8785's sorting and string forms, as far as entries use them (its section 3.2).
"""

import json
import random
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.store import entries
from webapp.store.entries import Act, Place

ROOT = Path(__file__).resolve().parents[2]
NODE = ROOT / ".venv" / "bin" / "node"

# Every code point, lone surrogates and NUL among them; more often those that JSON or JavaScript treat apart.
CHARACTERS = st.characters(exclude_categories=()) | st.sampled_from(
    '\0\x07\b\t\n\f\r\x1f"\\/\x7f\u2028\u2029\ufeff\ufffd\ud83d\ude00😀é'
)
TEXTS = st.text(CHARACTERS, max_size=12)
PRINTABLE = st.characters(min_codepoint=32, max_codepoint=126, exclude_characters='"\\')
KEYS = st.text(PRINTABLE, max_size=6) | st.sampled_from(
    ["about", "value", "", "10", "9", "A", "a", "__proto__", "constructor", "a b", "'", "/"]
)
INTEGERS = st.integers(-(2**31) + 1, 2**31 - 1) | st.sampled_from([0, -1, 2**31 - 1, -(2**31) + 1])
VALUES = st.recursive(
    st.none() | st.booleans() | INTEGERS | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=5),
    max_leaves=12,
)
IDS = st.text("0123456789abcdef", min_size=64, max_size=64)
OPTIONAL = st.none() | TEXTS
ACTS = st.fixed_dictionaries(
    {
        "exam": OPTIONAL,
        "patient": OPTIONAL,
        "author": TEXTS,
        "behalf": OPTIONAL,
        "kind": st.sampled_from(sorted(entries.KINDS)),
        "after": st.lists(IDS, max_size=3),
        "of": st.lists(IDS, max_size=3),
        "body": st.dictionaries(KEYS, VALUES, max_size=6),
    }
)


class Maker:
    """One node process that makes entries for as long as the tests ask."""

    def __init__(self) -> None:
        script = Path(__file__).with_name("make_entries.mjs")
        self.process = subprocess.Popen(
            [NODE, script], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8"
        )

    def ask(self, question: dict[str, Any]) -> Any:
        assert self.process.stdin is not None and self.process.stdout is not None
        self.process.stdin.write(json.dumps(question) + "\n")  # ASCII: lone surrogates travel as escapes
        self.process.stdin.flush()
        return json.loads(self.process.stdout.readline())

    def stop(self) -> None:
        self.process.communicate(timeout=20)
        assert self.process.returncode == 0


@pytest.fixture(scope="module")
def maker() -> Iterator[Maker]:
    running = Maker()
    yield running
    running.stop()


def as_json(value: Any) -> Any:
    """As it comes out of JSON, on either side: two halves of a surrogate pair side by side are one character."""
    return json.loads(json.dumps(value))


@settings(max_examples=30, deadline=None)  # few and wide, so that a difference shrinks; the next test makes many
@given(drafts=st.lists(ACTS, min_size=4, max_size=8), at=TEXTS)
def test_phone_and_server_make_the_same_entry_to_the_byte(maker: Maker, drafts: list[dict[str, Any]], at: str) -> None:
    assert_same(maker, as_json(drafts), as_json(at))


MANY = 3000
ALPHABET = [chr(code) for code in range(0x80)] + list("\u2028\u2029\ufeff\ufffd\ud83d\ude00\udfff😀éΩключ日本")


def test_thousands_of_entries_have_the_same_bytes_and_ids(maker: Maker) -> None:
    """Seeded, without shrinking, and therefore quick."""
    for seed in range(MANY // 100):
        made = Made(random.Random(seed))
        assert_same(maker, as_json([made.act() for _ in range(100)]), as_json(made.text()))


class Made:
    """What an entry may hold, by chance."""

    def __init__(self, chance: random.Random):
        self.chance = chance

    def text(self) -> str:
        return "".join(self.chance.choices(ALPHABET, k=self.chance.randrange(12)))

    def value(self, depth: int = 0) -> Any:
        kind = self.chance.randrange(7 if depth < 4 else 5)
        if kind < 2:
            return self.text()
        if kind == 2:
            return self.chance.choice([None, True, False])
        if kind in (3, 4):
            return self.chance.choice([0, -1, 2**31 - 1, -(2**31) + 1, self.chance.randrange(-(10**6), 10**6)])
        if kind == 5:
            return [self.value(depth + 1) for _ in range(self.chance.randrange(4))]
        return self.body(depth + 1)

    def body(self, depth: int = 0) -> dict[str, Any]:
        keys = ["".join(self.chance.choices("aAbz019_. '/-", k=self.chance.randrange(6))) for _ in range(4)]
        return {key: self.value(depth) for key in [*keys, "__proto__", "about"][self.chance.randrange(6) :]}

    def act(self) -> dict[str, Any]:
        ids = [self.chance.randbytes(32).hex() for _ in range(self.chance.randrange(3))]
        optional = [self.chance.choice([None, self.text()]) for _ in range(3)]
        return {
            **dict(zip(("exam", "patient", "behalf"), optional, strict=True)),
            "author": self.text(),
            "kind": self.chance.choice(sorted(entries.KINDS)),
            "after": ids[1:],
            "of": ids[:1],
            "body": self.body(),
        }


def assert_same(maker: Maker, drafts: list[dict[str, Any]], at: str) -> None:
    """Both sides chain these drafts from the same place."""
    device, seq = "ab" * 16, 2**31 - 200
    theirs = maker.ask(
        {"drafts": drafts, "last": {"device": device, "seq": seq, "prev": entries.NO_PREVIOUS}, "at": at}
    )
    place = Place(device, seq + 1, entries.NO_PREVIOUS)
    for draft, their in zip(drafts, theirs, strict=True):
        ours = entries.make(Act(**{**draft, "at": at, "after": tuple(draft["after"]), "of": tuple(draft["of"])}), place)
        assert (their["header"], their["body"]) == (ours["header"], ours["body"])
        assert their["id"] == entries.entry_id(ours)
        assert not their["damaged"] and their["same"]
        checked = entries.check({"header": their["header"], "body": their["body"]})
        assert checked.why is None and checked.id == their["id"]
        place = Place(device, place.seq + 1, their["id"])


ODD = st.sampled_from(
    [2**31, -(2**31), 2**53, 0.5, -1e300, {"é": 1}, {"a\nb": 1}, {"\x7f": 1}, {"\0": 1}, {'"': 1}, {"a\\": 1},
     ["😀", {"ключ": []}]]
)


@settings(max_examples=100, deadline=None)
@given(
    value=st.recursive(
        VALUES | ODD,
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
        max_leaves=6,
    )
)
def test_what_one_side_refuses_the_other_refuses(maker: Maker, value: Any) -> None:
    value = as_json(value)
    try:
        ours = {"text": entries.canonical(value)}
    except entries.EntryError:
        ours = {"refused": True}
    assert maker.ask({"canonical": value}) == ours
