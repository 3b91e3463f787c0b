"""Whether a picture's file holds the picture and nothing beside it: no place, device, person, words or second picture.

Only kinds of blocks that carry the picture itself are let through, so that what this version does not know is not given
away. Sources: ITU-T T.81 annex B (JPEG markers), W3C PNG 11.3, RFC 9649 (WebP).
"""

from collections.abc import Callable, Iterator

JPEG_PARTS = frozenset([
    *range(0xC0, 0xD0), 0xDA, 0xDB, 0xDC, 0xDD,  # frames, tables, scans, restarts
    0xE0, 0xE2, 0xEE,  # size and colours: JFIF, a colour profile, Adobe's transform
])  # fmt: skip
JPEG_NAMED = {0xE0: (b"JFIF\0", b"JFXX\0"), 0xE2: (b"ICC_PROFILE\0",), 0xEE: (b"Adobe",)}
RESTARTS = frozenset([0x00, *range(0xD0, 0xD8)])
START, SCAN, END = 0xD8, 0xDA, 0xD9
PNG = b"\x89PNG\r\n\x1a\n"
PNG_PARTS = frozenset([b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB",
                       b"cICP", b"bKGD", b"pHYs"])
WEBP_PARTS = frozenset([b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ICCP"])


def is_bare(data: bytes) -> bool:
    """Whether these bytes are a JPEG, PNG or WebP with nothing beside the picture; False for any other kind."""
    readers: tuple[tuple[bytes, Callable[[bytes], Iterator[bool]]], ...] = (
        (b"\xff\xd8", _jpeg), (PNG, _png), (b"RIFF", _webp))
    reader = next((one for begins, one in readers if data.startswith(begins)), None)
    try:
        return reader is not None and all(reader(data))
    except IndexError:
        return False  # cut off


def _jpeg(data: bytes) -> Iterator[bool]:
    """Each block in turn: whether it belongs to the picture."""
    at = 2
    while True:
        while data[at] == 0xFF and data[at + 1] == 0xFF:
            at += 1  # a block may be filled up before it begins
        mark = data[at + 1]
        if data[at] != 0xFF or mark == END:
            yield data[at] == 0xFF and at + 2 == len(data)
            return
        length = data[at + 2] << 8 | data[at + 3]
        inside = data[at + 4:at + 2 + length]
        yield mark in JPEG_PARTS and inside.startswith(JPEG_NAMED.get(mark, (b"",))) and length >= 2
        at += 2 + length
        if mark == SCAN:
            while data[at] != 0xFF or data[at + 1] in RESTARTS:
                at += 1


def _png(data: bytes) -> Iterator[bool]:
    at, kind = len(PNG), b""
    while kind != b"IEND":
        data[at + 11]  # IndexError where the file is cut off
        kind = data[at + 4:at + 8]
        at += 12 + int.from_bytes(data[at:at + 4])
        yield kind in PNG_PARTS
    yield at == len(data)


def _webp(data: bytes) -> Iterator[bool]:
    yield data[8:12] == b"WEBP" and int.from_bytes(data[4:8], "little") + 8 == len(data)
    at = 12
    while at < len(data):
        data[at + 7]  # IndexError where the file is cut off
        yield data[at:at + 4] in WEBP_PARTS
        size = int.from_bytes(data[at + 4:at + 8], "little")
        at += 8 + size + size % 2
    yield at == len(data)
