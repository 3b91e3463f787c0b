"""A picture's file that holds more than the picture is told from one that does not, whatever is in it."""

import io
import struct
import zlib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from webapp.photos import bare

PLACE = b"54.3217,10.1234"


def picture(form: str, mode: str = "RGB", **more: Any) -> bytes:
    """A picture as other programs write one."""
    made = io.BytesIO()
    Image.effect_noise((64, 48), 60).convert(mode).save(made, form, **more)
    return made.getvalue()


def whereabouts() -> Image.Exif:
    """Where and by what a picture was taken."""
    told = Image.Exif()
    told[0x0110] = "A telephone"
    told.get_ifd(0x8825).update({1: "N", 2: (54.0, 19.0, 18.0), 3: "E", 4: (10.0, 7.0, 24.0)})
    return told


def block(mark: int, inside: bytes) -> bytes:
    """A block of a JPEG."""
    return struct.pack(">BBH", 0xFF, mark, len(inside) + 2) + inside


def chunk(kind: bytes, inside: bytes) -> bytes:
    """A chunk of a PNG."""
    return struct.pack(">I", len(inside)) + kind + inside + struct.pack(">I", zlib.crc32(kind + inside))


BARE = {
    "JPEG": picture("JPEG"), "JPEG in steps": picture("JPEG", progressive=True), "grey JPEG": picture("JPEG", "L"),
    "JPEG with restarts": picture("JPEG", restart_marker_blocks=2), "JPEG of four inks": picture("JPEG", "CMYK"),
    "PNG": picture("PNG"), "grey PNG": picture("PNG", "L"), "PNG with a palette": picture("PNG", "P"),
    "PNG with its size": picture("PNG", dpi=(72, 72)), "WebP": picture("WEBP"),
    "WebP without loss": picture("WEBP", lossless=True), "WebP with holes": picture("WEBP", "RGBA"),
}


@pytest.mark.parametrize("name", BARE)
def test_a_picture_alone_is_bare(name: str) -> None:
    assert bare.is_bare(BARE[name])


def _text() -> PngInfo:
    told = PngInfo()
    told.add_text("Place", PLACE.decode())
    return told


JPEG, PNG, WEBP = BARE["JPEG"], BARE["PNG"], BARE["WebP"]
MORE = {
    "JPEG with Exif": picture("JPEG", exif=whereabouts()),
    "PNG with Exif": picture("PNG", exif=whereabouts()),
    "WebP with Exif": picture("WEBP", exif=whereabouts()),
    "WebP with XMP": picture("WEBP", xmp=b"<x:xmpmeta>" + PLACE + b"</x:xmpmeta>"),
    "JPEG with a comment": picture("JPEG", comment=PLACE),
    "JPEG with XMP": JPEG[:2] + block(0xE1, b"http://ns.adobe.com/xap/1.0/\0" + PLACE) + JPEG[2:],
    "JPEG with words of a picture agency": JPEG[:2] + block(0xED, b"Photoshop 3.0\0" + PLACE) + JPEG[2:],
    "JPEG with a second picture's list": JPEG[:2] + block(0xE2, b"MPF\0" + PLACE) + JPEG[2:],
    "JPEG with another's block of size": JPEG[:2] + block(0xE0, PLACE) + JPEG[2:],
    "JPEG and something behind it": JPEG + PLACE,
    "JPEG and a second one behind it": JPEG + picture("JPEG", exif=whereabouts()),
    "PNG with words": picture("PNG", pnginfo=_text()),
    "PNG with an unknown chunk": PNG[:-12] + chunk(b"plCe", PLACE) + PNG[-12:],
    "PNG and something behind it": PNG + PLACE,
    "WebP and something behind it": WEBP + PLACE,
    "HEIC": b"\0\0\0\x18ftypheic" + PLACE, "GIF": picture("GIF", "P"), "nothing": b"", "words": PLACE,
}


@pytest.mark.parametrize("name", MORE)
def test_a_picture_with_anything_beside_it_is_not(name: str) -> None:
    assert not bare.is_bare(MORE[name])


@given(st.sampled_from([JPEG, PNG, WEBP]), st.data())
def test_a_file_that_was_cut_is_not_and_nothing_fails(whole: bytes, data: st.DataObject) -> None:
    assert not bare.is_bare(whole[:data.draw(st.integers(0, len(whole) - 1))])


@given(st.sampled_from([JPEG, PNG, WEBP]), st.data())
def test_damaged_bytes_are_answered_and_never_fail(whole: bytes, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(whole) - 1))
    assert bare.is_bare(whole[:at] + data.draw(st.binary(max_size=8)) + whole[at:]) in (True, False)
