"""The report's own fonts: where they are and which characters they can show.

The PDF standard refuses text without a glyph, so every character is checked against the fonts' own
tables before typst sees it. System fonts are never used: the same report must give the same bytes anywhere.
"""

import struct
import unicodedata
from functools import lru_cache
from pathlib import Path

FOLDER = Path(__file__).parent / "fonts"
FAMILIES = ("Noto Sans", "DejaVu Sans")

# Spaces, hyphens and joiners that a layout engine uses up; they need no glyph.
_NEEDS_NO_GLYPH = frozenset("\n\u200b\u200c\u200d\u00ad")


@lru_cache(maxsize=1)
def covered() -> frozenset[int]:
    """The code points that every weight can show, its own family or the fallback (DejaVu Sans)."""
    regular = _code_points(FOLDER / "NotoSans-Regular.ttf")
    bold = _code_points(FOLDER / "NotoSans-Bold.ttf")
    fallback = _code_points(FOLDER / "DejaVuSans.ttf")
    return (regular & bold) | fallback


def printable(text: str) -> str:
    """The text with each character that no shipped font can show written as its code point, "[U+4E2D]"."""
    return "".join(letter if _shown(letter) else f"[U+{ord(letter):04X}]" for letter in text)


def plain(text: str) -> str:
    """The text with everything but ASCII and Latin letters as code points: the last resort of the PDF."""
    return "".join(
        letter
        if letter == "\n" or " " <= letter <= "~" or "\u00a1" <= letter <= "\u017e" and letter != "\u00ad"
        else f"[U+{ord(letter):04X}]"
        for letter in text
    )


def _shown(letter: str) -> bool:
    if letter in _NEEDS_NO_GLYPH:
        return True
    return ord(letter) in covered() and unicodedata.category(letter) not in ("Cc", "Cf", "Cn", "Co", "Cs")


def _code_points(path: Path) -> frozenset[int]:
    """The code points of a TrueType file's character map (OpenType "cmap", formats 4 and 12)."""
    data = path.read_bytes()
    start = _table(data, b"cmap")
    points: set[int] = set()
    for number in range(struct.unpack_from(">H", data, start + 2)[0]):
        at = start + struct.unpack_from(">L", data, start + 8 + 8 * number)[0]
        form = struct.unpack_from(">H", data, at)[0]
        if form == 4:
            points |= _segments(data, at)
        elif form == 12:
            points |= _groups(data, at)
    return frozenset(points)


def _table(data: bytes, tag: bytes) -> int:
    for number in range(struct.unpack_from(">H", data, 4)[0]):
        name, _, offset, _ = struct.unpack_from(">4sLLL", data, 12 + 16 * number)
        if name == tag:
            return int(offset)
    raise ValueError(f"the font file has no {tag.decode()} table: ship the whole TrueType file")


def _segments(data: bytes, at: int) -> set[int]:
    """Format 4: ranges with a shift or an index into a glyph list; a glyph 0 means "not there"."""
    count = struct.unpack_from(">H", data, at + 6)[0] // 2
    ends = struct.unpack_from(f">{count}H", data, at + 14)
    starts = struct.unpack_from(f">{count}H", data, at + 16 + 2 * count)
    shifts = struct.unpack_from(f">{count}H", data, at + 16 + 4 * count)
    offsets_at = at + 16 + 6 * count
    offsets = struct.unpack_from(f">{count}H", data, offsets_at)
    points: set[int] = set()
    for place, (first, last, shift, offset) in enumerate(zip(starts, ends, shifts, offsets, strict=True)):
        for point in range(first, min(last, 0xFFFE) + 1):
            if offset == 0:
                glyph = (point + shift) & 0xFFFF
            else:
                glyph = struct.unpack_from(">H", data, offsets_at + 2 * place + offset + 2 * (point - first))[0]
            if glyph:
                points.add(point)
    return points


def _groups(data: bytes, at: int) -> set[int]:
    points: set[int] = set()
    for number in range(struct.unpack_from(">L", data, at + 12)[0]):
        first, last, glyph = struct.unpack_from(">LLL", data, at + 16 + 12 * number)
        points.update(point for point in range(first, last + 1) if glyph + point - first)
    return points
