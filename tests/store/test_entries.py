"""Making and checking one entry."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.builders import Phone, foreign
from webapp.store import entries

KEY = st.characters(min_codepoint=32, max_codepoint=126, exclude_characters='"\\')
values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**31) + 1, 2**31 - 1) | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(KEY), inner),
    max_leaves=20,
)


def test_canonical_text_is_sorted_has_no_spaces_and_keeps_characters() -> None:
    assert entries.canonical({"b": ["größe", True, None], "a": 1}) == '{"a":1,"b":["größe",true,null]}'


@given(values)
def test_canonical_text_reads_back_to_the_same_text(value: object) -> None:
    text = entries.canonical(value)
    assert entries.canonical(json.loads(text)) == text
    text.encode("utf-8")


@pytest.mark.parametrize("value", [1.5, 2**31, {"größe": 1}, {1: 2}, b"x", {"a": [float("nan")]}])
def test_what_two_machines_could_write_differently_is_not_made(value: object) -> None:
    with pytest.raises(entries.EntryError):
        entries.canonical(value)


def test_lone_surrogate_becomes_the_character_a_browser_would_hash() -> None:
    assert entries.canonical("a\ud800b") == '"a\ufffdb"'


def test_id_is_the_hash_of_the_header_and_the_header_holds_the_bodys() -> None:
    phone = Phone()
    name = phone.opened()
    checked = entries.check(phone.written[0])
    assert checked.id == name == entries.sha256(phone.written[0]["header"])
    assert checked.why is None
    assert checked.header is not None
    assert checked.header["body_hash"] == entries.sha256(phone.written[0]["body"])


def test_opened_entry_is_flat_and_holds_its_body() -> None:
    phone = Phone()
    name = phone.read("adrenal.left.caudal_pole_thickness", "6.2", typed="6,2")
    entry = entries.open_entry(phone.written[0])
    assert entry["id"] == name
    assert (entry["kind"], entry["author"], entry["seq"]) == ("read", "VS", 1)
    assert entry["body"]["typed"] == "6,2"


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"v": 2}, "version"),
        ({"kind": "dreamt"}, "kind"),
        ({"seq": "1"}, "header"),
        ({"device": "x"}, "header"),
    ],
)
def test_what_cannot_be_read_is_named(change: dict[str, object], why: str) -> None:
    phone = Phone()
    phone.opened()
    assert entries.check(foreign(phone.written[0], **change)).why == why


@pytest.mark.parametrize("header", ["", "[]", "{", "[" * 5000, "{}", "\ud800", '{"v":1.5}'])
def test_no_header_text_can_stop_the_check(header: str) -> None:
    assert entries.check({"header": header, "body": "{}"}).why == "header"


def test_a_body_that_does_not_fit_its_hash_is_named_and_not_opened() -> None:
    phone = Phone()
    phone.opened()
    changed: entries.Envelope = {"header": phone.written[0]["header"], "body": '{"about":"exam"}'}
    assert entries.check(changed).why == "body_hash"
    assert entries.open_entry(changed)["body"] is None


def test_new_ids_are_uuid_version_7_and_sort_by_time() -> None:
    early, late = entries.new_id(1_700_000_000_000), entries.new_id(1_700_000_000_001)
    assert early < late
    assert (early[14], early[19] in "89ab", len(early)) == ("7", True, 36)
