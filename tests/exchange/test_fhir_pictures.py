"""Photos and stills in the FHIR document: to the byte, valid by the library, without a place, or not at all."""

import base64
import hashlib
import json
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone
from tests.exchange.signed import signed
from tests.exchange.test_dicom_pages import kept_still, still
from tests.exchange.test_exam_bundle import Json, check, resources, taken
from tests.photos.test_bare import picture, whereabouts
from tests.review.desk import Vet
from webapp.exchange import fhir_pictures
from webapp.photos import files, register
from webapp.store import journal

Enter = Callable[..., FlaskClient]


def photo(
    db: Database, path: Any, data: bytes, about: str = "adrenal.left", kind: str = "image/jpeg",
    phone: Phone | None = None, **more: Any,
) -> str:
    """A photo or clip of the exam as a phone brings it; its entry."""
    name = hashlib.sha256(data).hexdigest()
    phone = phone or Phone(name[:32])
    told = {"about": about, "hash": name, "type": kind, "size": len(data), "width": 64, "height": 48}
    entry = phone.act("attached", told | more)
    journal.append(db, phone.written, "phone")
    folder = files.folder_of(path)
    files.take_whole(folder, name, data)
    register.note(db, folder, name, "phone")
    return entry


def told_of_pictures(bundle: Json) -> str:
    (composition,) = resources(bundle, "Composition")
    (section,) = [one for one in composition["section"] if one["title"] == "Photos and stills"]
    return str(section["text"]["div"])


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_photo_goes_along_to_the_byte_with_who_where_and_when(
    db: Database, path: Any, sign_in: Enter, form: str
) -> None:
    data = picture(form)
    entry = photo(db, path, data, kind=f"image/{form.lower()}", text="Depth 6 cm <b>.")
    browser = sign_in()
    signed(db, browser)
    bundle = taken(browser)
    check(bundle)
    (media,) = resources(bundle, "Media")
    content = media["content"]
    assert base64.b64decode(content["data"]) == data and content["size"] == len(data)
    assert base64.b64decode(content["hash"]) == hashlib.sha1(data).digest()
    assert content["contentType"] == f"image/{form.lower()}" and media["id"] == entry
    assert media["bodySite"]["text"] == "LEFT adrenal" and media["bodySite"]["coding"][0]["code"] == "adrenal.left"
    assert media["operator"]["display"] == "VS" and media["createdDateTime"].startswith("2026-11-24T10:")
    assert media["note"] == [{"text": "Depth 6 cm <b>."}] and (media["width"], media["height"]) == (64, 48)
    digest = media["identifier"][0]["value"].removeprefix("ni:///sha-256;")
    assert base64.urlsafe_b64decode(digest + "=") == hashlib.sha256(data).digest()
    (report,) = resources(bundle, "DiagnosticReport")
    assert report["media"] == [{"comment": "Picture of LEFT adrenal", "link": {"reference": next(
        one["fullUrl"] for one in bundle["entry"] if one["resource"] is media)}}]
    library = Bundle.model_validate(bundle)
    read = next(one.resource for one in library.entry if one.resource.get_resource_type() == "Media")
    assert read.content.data == data, "read back by the library"
    assert "Picture of LEFT adrenal: Depth 6 cm &lt;b&gt;." in told_of_pictures(bundle)


def test_a_scanners_still_goes_along_as_it_was_kept(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    vet = signed(db, browser)
    kept_still(browser, still())
    answer = vet.look().fill(status="appended", reason="a still came", text="One still is added.").post("addend")
    assert answer.status_code == 302, answer.text
    bundle = taken(browser, 2)
    check(bundle)
    (media,) = resources(bundle, "Media")
    name = next(db.query("select hash from photos"))["hash"]
    with browser.get(f"/photos/{name}") as shown:
        assert base64.b64decode(media["content"]["data"]) == shown.data
    assert media["content"]["contentType"] == "image/png" and media["content"]["title"] == "Picture"
    assert resources(taken(browser), "Media") == [], "the first version was signed without it"


@pytest.mark.parametrize("data, kind, more, why", [
    (picture("JPEG", exif=whereabouts()), "image/jpeg", {}, "may hold more than the picture"),
    (picture("PNG", exif=whereabouts()), "image/png", {}, "may hold more than the picture"),
    (b"\0\0\0\x18ftypheic" + bytes(64), "image/heic", {}, "may hold more than the picture"),
    (b"\x1aE\xdf\xa3" + bytes(64), "audio/webm", {"duration_s": 4}, "sound is not given out here"),
])
def test_what_may_tell_a_place_and_what_is_no_picture_stays_here_and_it_is_said(
    db: Database, path: Any, sign_in: Enter, data: bytes, kind: str, more: Json, why: str
) -> None:
    photo(db, path, data, kind=kind, **more)
    browser = sign_in()
    signed(db, browser)
    bundle = taken(browser)
    check(bundle)
    assert resources(bundle, "Media") == [] and why in told_of_pictures(bundle)
    answer = browser.get(f"/exchange/exam/{EXAM}/1/fhir.json")
    for whole in (data, whereabouts().tobytes()):
        assert base64.b64encode(whole)[:40] not in answer.data, "nor any part of it"
    assert b"A telephone" not in answer.data


def test_pictures_are_left_out_where_asked_and_the_document_is_another_one(
    db: Database, path: Any, sign_in: Enter
) -> None:
    photo(db, path, picture("JPEG"))
    browser = sign_in()
    vet = signed(db, browser)
    address = f"/exchange/exam/{EXAM}/1/fhir.json"
    assert f'href="{address}?pictures=no">without pictures</a>' in vet.look().page
    small = browser.get(f"{address}?pictures=no")
    bundle = json.loads(small.text, parse_float=Decimal, parse_int=Decimal)
    check(bundle)
    assert resources(bundle, "Media") == [] and "left out when this document was made" in told_of_pictures(bundle)
    whole = taken(browser)
    assert whole["identifier"] != bundle["identifier"], "two documents that differ do not share a name"
    assert len(small.data) < len(browser.get(address).data)


def test_what_is_too_large_struck_or_not_here_is_said(
    db: Database, path: Any, sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, two = picture("PNG"), picture("PNG", "L")
    monkeypatch.setattr(fhir_pictures, "LARGEST_BYTES", len(one))
    monkeypatch.setattr(fhir_pictures, "ALL_BYTES", len(one) + len(two))
    phone = Phone("f6" * 16)
    photo(db, path, one, "spleen", "image/png", phone)
    photo(db, path, two, "liver", "image/png", phone)
    photo(db, path, picture("JPEG", "L", quality=20), "bladder", "image/jpeg", phone)
    photo(db, path, one + bytes(10), "kidney.left", "image/png", phone)
    wrong = photo(db, path, picture("JPEG", quality=30), "kidney.right", "image/jpeg", phone)
    missing = picture("JPEG", quality=40)
    gone = photo(db, path, missing, "pancreas", "image/jpeg", phone)
    phone.act("struck", {"about": "kidney.right", "why": "another dog"}, of=[wrong])
    journal.append(db, phone.written, "phone")
    browser = sign_in()
    signed(db, browser)
    files.path_of(files.folder_of(path), hashlib.sha256(missing).hexdigest()).unlink()
    bundle = taken(browser)
    check(bundle)
    assert {media["bodySite"]["text"] for media in resources(bundle, "Media")} == {"Spleen", "Liver"}
    told = told_of_pictures(bundle)
    for words in ("Urinary bladder (not in this document: too large", "LEFT kidney (not in this document: too large",
                  "RIGHT kidney (not in this document: struck: another dog)",
                  "Pancreas (not in this document: its file is not here)"):
        assert words in told
    assert gone not in {media["id"] for media in resources(bundle, "Media")}


def test_an_exam_without_pictures_says_nothing_of_them(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    vet: Vet = signed(db, browser)
    bundle = taken(browser)
    assert "Photos and stills" not in str(bundle) and "without pictures" not in vet.look().page
