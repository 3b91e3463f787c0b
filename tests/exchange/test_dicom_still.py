"""Stills with a scale: pydicom's own test files, files changed in one thing each, and the pixel uncertainty.

Sources: DICOM PS3.3 C.8.5.5; JCGM 100:2008, 4.3.7 and 5.1.2 (a point is rectangular over its pixel, half-width 1/2).
"""

import io
import math
import random
from decimal import Decimal
from typing import Any

import pydicom
import pytest
from PIL import Image
from pydicom.data import get_testdata_file
from pydicom.uid import DeflatedExplicitVRLittleEndian

from webapp.exchange import dicom_in, dicom_still, distance
from webapp.exchange.distance import CannotMeasure, Region

GREY = Region(0, 0, 999, 999, Decimal("0.25"), Decimal("0.25"))


def data_of(name: str) -> bytes:
    path = get_testdata_file(name)
    assert path is not None, f"{name} is in pydicom or pydicom-data"
    with open(str(path), "rb") as file:
        return file.read()


def changed(name: str = "OBXXXX1A.dcm", **changes: Any) -> bytes:
    """A file of pydicom's with fields of the data set or of its first region changed; None takes one away."""
    data = pydicom.dcmread(io.BytesIO(data_of(name)))
    for field, value in changes.items():
        part = data.SequenceOfUltrasoundRegions[0] if field.startswith("Region") or field.startswith("Phys") else data
        if value is None:
            del part[field]
        else:
            setattr(part, field, value)
    made = io.BytesIO()
    data.save_as(made)
    return made.getvalue()


def regions(data: bytes) -> list[Region]:
    return dicom_still.regions(dicom_in.opened(data))


@pytest.mark.parametrize("name, first, count", [
    ("OBXXXX1A.dcm", Region(120, 60, 799, 518, Decimal("0.2622878766196998"), Decimal("0.2622878766196998")), 1),
    ("gdcm-US-ALOKA-16.dcm", Region(32, 24, 335, 415, Decimal("0.3826530650258064"), Decimal("0.3826530650258064")), 2),
])
def test_the_scale_of_a_file_is_read_to_the_last_digit(name: str, first: Region, count: int) -> None:
    """Waveforms (units in seconds) and boxes without a picture are no part to measure in."""
    found = regions(data_of(name))
    assert found[0] == first and len(found) == count and all(one.square for one in found)


@pytest.mark.parametrize("name", ["examples_palette.dcm"])
def test_a_copy_that_was_cut_and_kept_its_scale_is_refused(name: str) -> None:
    with pytest.raises(dicom_in.Unusable, match="for a larger picture"):
        regions(data_of(name))


def test_a_copy_of_half_the_size_that_kept_its_scale_is_refused() -> None:
    """pydicom's examples_ybr_color.dcm is such a copy (240 rows, a region to row 414), a clip; here as a still."""
    clip = pydicom.dcmread(io.BytesIO(data_of("examples_ybr_color.dcm")))
    assert (clip.Rows, clip.SequenceOfUltrasoundRegions[0].RegionLocationMaxY1) == (240, 414)
    still = pydicom.dcmread(io.BytesIO(data_of("examples_rgb_color.dcm")))
    still.SequenceOfUltrasoundRegions = clip.SequenceOfUltrasoundRegions
    with pytest.raises(dicom_in.Unusable, match="every length on it would be wrong"):
        dicom_still.regions(still)


@pytest.mark.parametrize("changes, said", [
    ({"RegionLocationMaxX1": 801}, "for a larger picture"),
    ({"RegionLocationMaxY1": 601}, "for a larger picture"),
    ({"RegionLocationMinX0": 900, "RegionLocationMaxX1": 800}, "ends before it begins"),
    ({"PhysicalDeltaX": 5.0}, "cannot be"),
    ({"PhysicalDeltaX": float("inf")}, "no number"),
    ({"PhysicalDeltaX": float("nan")}, "no number"),
    ({"PhysicalUnitsXDirection": 4, "PhysicalUnitsYDirection": 4}, "no scale"),
    ({"PhysicalDeltaX": 0.0, "PhysicalDeltaY": 0.0}, "no scale"),
    ({"RegionSpatialFormat": 2}, "no scale"),
    ({"SequenceOfUltrasoundRegions": None}, "no scale"),
    ({"NumberOfFrames": 2}, "holds 2 pictures"),
    ({"Rows": 5000}, "up to 4096"),
])
def test_a_scale_that_cannot_be_believed_is_refused_with_the_reason(changes: dict[str, Any], said: str) -> None:
    with pytest.raises(dicom_in.Unusable, match=said):
        regions(changed(**changes))


def test_each_axis_has_its_own_scale() -> None:
    (wide,) = regions(changed(PhysicalDeltaX=0.05, PhysicalDeltaY=-0.02))
    assert (wide.across, wide.down, wide.square) == (Decimal("0.5"), Decimal("0.2"), False)
    assert distance.between((200, 100), (230, 140), [wide]).mm == Decimal("17.0"), "15 mm across, 8 mm down"
    (half,) = regions(changed(PhysicalDeltaX=None))
    assert half.across is None and distance.between((200, 100), (200, 200), [half]).mm == Decimal("26.2")
    with pytest.raises(CannotMeasure, match="only straight down"):
        distance.between((200, 100), (201, 200), [half])
    (flat,) = regions(changed(PhysicalUnitsYDirection=0))
    assert distance.between((200, 100), (300, 100), [flat]).mm == Decimal("26.2")
    with pytest.raises(CannotMeasure, match="only straight across"):
        distance.between((200, 100), (300, 101), [flat])


def test_points_outside_or_in_two_parts_give_no_distance() -> None:
    side_by_side = regions(data_of("gdcm-US-ALOKA-16.dcm"))
    assert distance.between((40, 100), (300, 100), side_by_side).mm == Decimal("99.5")
    for other in ((400, 100), (10, 100), (40, 470)):
        with pytest.raises(CannotMeasure, match="one part of the picture"):
            distance.between((40, 100), other, side_by_side)
    with pytest.raises(CannotMeasure, match="same pixel"):
        distance.between((40, 100), (40, 100), side_by_side)
    twice = [GREY, GREY._replace(across=Decimal("0.3"))]
    with pytest.raises(CannotMeasure, match="different scales"):
        distance.between((40, 100), (50, 100), twice)


def test_a_distance_is_what_the_scanners_own_calipers_in_the_picture_say() -> None:
    """The picture of OBXXXX1A.dcm shows two crosses that the scanner set, and beside them its result: 1.06 cm. The
    middles of the crosses are found in the pixels, not by anything of ours."""
    data = data_of("OBXXXX1A.dcm")
    with Image.open(io.BytesIO(dicom_still.png(dicom_in.opened(data)))) as image:
        grey = image.convert("L")
    lit = {(x, y) for x in range(445, 515) for y in range(280, 312) if grey.getpixel((x, y)) > 180}
    crosses = [(x, y) for x, y in lit if {(x + step, y) for step in range(-4, 6)} <= lit
               and {(x, y + step) for step in range(-4, 6)} <= lit]
    assert len(crosses) == 2, crosses
    assert distance.between(*crosses, regions(data)).mm == Decimal("10.6")


@pytest.mark.parametrize("other, mm, uncertainty", [
    ((100, 0), "25.0", "0.11"),  # 0.25 / sqrt 6 = 0.1021, up to the next hundredth
    ((0, 100), "25.0", "0.11"),
    ((60, 80), "25.0", "0.11"),  # with square pixels the direction does not matter
    ((1, 0), "0.3", "0.11"),
])
def test_square_pixels_give_pitch_over_the_root_of_six(other: distance.Point, mm: str, uncertainty: str) -> None:
    found = distance.between((0, 0), other, [GREY])
    assert (str(found.mm), str(found.uncertainty)) == (mm, uncertainty)


def test_the_uncertainty_is_that_of_points_anywhere_in_their_pixels() -> None:
    """By throwing dice: 40,000 pairs of points, each spread evenly over its pixel."""
    dice = random.Random(7)
    across, down, region = 40, 90, GREY._replace(across=Decimal("0.4"), down=Decimal("0.25"))
    told = distance.between((0, 0), (across, down), [region])

    def length() -> float:
        ends = [dice.uniform(-0.5, 0.5) for _ in range(4)]
        return math.hypot((across + ends[0] - ends[1]) * 0.4, (down + ends[2] - ends[3]) * 0.25)

    lengths = [length() for _ in range(40_000)]
    mean = sum(lengths) / len(lengths)
    spread = math.sqrt(sum((one - mean) ** 2 for one in lengths) / (len(lengths) - 1))
    assert abs(float(told.mm) - mean) < 0.06
    assert spread * 0.99 < float(told.uncertainty) < spread * 1.01 + 0.01, "rounded up to a hundredth"


@pytest.mark.parametrize("name, mode", [
    ("OBXXXX1A.dcm", "RGB"), ("gdcm-US-ALOKA-16.dcm", "RGB"), ("US1_UNCR.dcm", "RGB"), ("US1_J2KR.dcm", "RGB"),
    ("examples_rgb_color.dcm", "RGB")])
def test_a_picture_comes_out_as_png_with_its_pixels_and_nothing_else(name: str, mode: str) -> None:
    data = data_of(name)
    header = pydicom.dcmread(io.BytesIO(data), stop_before_pixels=True)
    made = dicom_still.png(dicom_in.opened(data))
    with Image.open(io.BytesIO(made)) as image:
        assert (image.format, image.mode, image.size) == ("PNG", mode, (header.Columns, header.Rows))
        assert image.info == {}
        if name == "US1_UNCR.dcm":
            plain = pydicom.dcmread(io.BytesIO(data)).PixelData
            assert image.tobytes() == plain[: len(image.tobytes())], "bit for bit"
    for told in (str(header.get("PatientName") or "nobody"), str(header.get("PatientID") or "nobody")):
        assert told.encode() not in made


def test_a_packed_picture_larger_than_the_file_says_is_not_opened() -> None:
    data = pydicom.dcmread(io.BytesIO(data_of("US1_J2KR.dcm")))
    data.Rows, data.Columns = 48, 64
    with pytest.raises(dicom_in.Unusable, match="another size"):
        dicom_still.png(data)


def test_what_is_no_file_of_ours_is_refused_with_a_sentence() -> None:
    whole = data_of("OBXXXX1A.dcm")
    bare = b"\x00" * 128 + b"DICM"
    for data in (b"", b"no file", whole[:100], whole[:300], bare, bare + b"\xff" * 64):
        with pytest.raises(dicom_in.Unusable):
            dicom_still.regions(dicom_in.opened(data))
    with pytest.raises(dicom_in.Unusable, match="damaged"):
        dicom_still.png(dicom_in.opened(whole[:200_000]))
    for packed in (_deflated(whole), data_of("OBXXXX1A_rle.dcm")):
        with pytest.raises(dicom_in.Unusable, match="not opened here"):
            dicom_in.opened(packed)


def _deflated(whole: bytes) -> bytes:
    data = pydicom.dcmread(io.BytesIO(whole))
    data.file_meta.TransferSyntaxUID = DeflatedExplicitVRLittleEndian
    made = io.BytesIO()
    data.save_as(made)
    return made.getvalue()
