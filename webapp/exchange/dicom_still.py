"""A single ultrasound picture of a DICOM file: its scales, and its pixels as PNG without anything of the header.

Sources: DICOM PS3.3 C.8.5.5 (ultrasound regions; C.8.5.5.1.15: units code 3 is cm, the only length; C.8.5.5.1.1: format
1 is a two-dimensional picture). A region that reaches beyond the picture tells of a copy that was made smaller or cut
and kept its old scale: every length on it would be wrong, so it is refused.
"""

import io
import warnings
from decimal import Decimal
from typing import Any

from pydicom.dataset import Dataset

from webapp.exchange.dicom_in import DAMAGE, PACKED, Unusable
from webapp.exchange.distance import Region

TWO_DIMENSIONAL = 1
CENTIMETRES = 3
CM_TO_MM = 1  # places that the decimal point moves
LONGEST_SIDE = 4096  # pixels
# Between a needle of a probe for eyes and the largest animal in one picture: 0.001 to 10 mm for one pixel.
PITCH = (Decimal("0.001"), Decimal(10))


def looks_like(data: Dataset) -> bool:
    """Whether the file holds a picture at all."""
    return "PixelData" in data


def regions(data: Dataset) -> list[Region]:
    """The parts of the picture that have a length for a pixel, in the file's order. Raises Unusable where there is none
    and where one of any kind is larger than the picture."""
    try:
        width, height = _size(data)
        found = [_region(item, width, height) for item in data.get("SequenceOfUltrasoundRegions") or []]
    except Unusable:
        raise
    except DAMAGE as error:
        raise Unusable(f"The scale in the file is damaged and cannot be read ({type(error).__name__}).") from error
    usable = [region for region in found if region is not None]
    if not usable:
        raise Unusable("The file holds no scale (no ultrasound region with lengths), so nothing can be measured on it. "
                       "A photo of the screen can be kept from the phone.")
    return usable


def _size(data: Dataset) -> tuple[int, int]:
    frames = int(data.get("NumberOfFrames") or 1)
    if frames != 1:
        raise Unusable(f"The file holds {frames} pictures. Take a single still: of a clip nobody knows which.")
    width, height = int(data.Columns), int(data.Rows)
    if not (0 < width <= LONGEST_SIDE and 0 < height <= LONGEST_SIDE):
        raise Unusable(f"The picture has {width} by {height} pixels; up to {LONGEST_SIDE} a side are taken.")
    return width, height


def _region(item: Dataset, width: int, height: int) -> Region | None:
    """One region, None where it is no two-dimensional picture with a length. Some machines name the edge behind the
    last pixel: that is taken, one pixel more is not."""
    left, top = int(item.RegionLocationMinX0), int(item.RegionLocationMinY0)
    right, bottom = int(item.RegionLocationMaxX1), int(item.RegionLocationMaxY1)
    if right > width or bottom > height:
        raise Unusable(
            f"The file's scale is for a larger picture: its region reaches to column {right}, row {bottom}, and the "
            f"picture has {width} by {height}. This is a copy made smaller or cut; every length on it would be wrong. "
            "Take the machine's own file.")
    if left > right or top > bottom:
        raise Unusable("The file's scale is damaged: a region ends before it begins.")
    if int(item.get("RegionSpatialFormat") or 0) != TWO_DIMENSIONAL:
        return None
    across = _pitch(item, "PhysicalUnitsXDirection", "PhysicalDeltaX")
    down = _pitch(item, "PhysicalUnitsYDirection", "PhysicalDeltaY")
    if across is None and down is None:
        return None
    return Region(left, top, min(right, width - 1), min(bottom, height - 1), across, down)


def _pitch(item: Dataset, units: str, delta: str) -> Decimal | None:
    """mm for one pixel along an axis, None where the file gives no length; backwards counts like forwards."""
    if item.get(units) != CENTIMETRES or item.get(delta) is None:
        return None
    # A double (FD) in the file: its shortest decimal text is the double again.
    mm = abs(Decimal(repr(float(item[delta].value)))).scaleb(CM_TO_MM)
    if not mm.is_finite():
        raise Unusable("The file's scale is no number.")
    if mm == 0:
        return None
    if not PITCH[0] <= mm <= PITCH[1]:
        raise Unusable(f"The file says that one pixel is {mm:f} mm, which cannot be: nothing is measured by that.")
    return mm


def png(data: Dataset) -> bytes:
    """The picture as PNG, 8 bits, grey or colour. Raises Unusable."""
    from pydicom.pixels import apply_color_lut, apply_voi_lut, pixel_array

    try:
        width, height = _size(data)
        if int(data.BitsAllocated) not in (8, 16) or int(data.SamplesPerPixel) not in (1, 3):
            raise Unusable("The picture's kind of pixels is not known here. Let the machine give it out as JPEG.")
        if data.file_meta.TransferSyntaxUID in PACKED:
            _packed_fits(data, width, height)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            pixels = pixel_array(data)
            if data.PhotometricInterpretation == "PALETTE COLOR":
                pixels = apply_color_lut(pixels, data)
            elif int(data.SamplesPerPixel) == 1:
                pixels = apply_voi_lut(pixels, data)
        return _as_png(pixels, str(data.PhotometricInterpretation), (height, width))
    except Unusable:
        raise
    except DAMAGE as error:
        raise Unusable(f"The picture is damaged and cannot be opened ({type(error).__name__}).") from error


def _packed_fits(data: Dataset, width: int, height: int) -> None:
    """Look at a packed picture's own size before it is unpacked: it could be far larger than the header says."""
    from PIL import Image
    from pydicom.encaps import get_frame

    packed = get_frame(data.PixelData, 0, number_of_frames=1)
    # Only these two readers, whatever the bytes may be.
    with Image.open(io.BytesIO(packed), formats=["JPEG", "JPEG2000"]) as image:
        if image.size != (width, height):
            raise Unusable("The picture inside has another size than the file says. It is not opened.")


def _as_png(pixels: Any, kind: str, shape: tuple[int, int]) -> bytes:
    import numpy
    from PIL import Image

    if pixels.shape[:2] != shape or pixels.ndim not in (2, 3):
        raise Unusable("The picture has another size than the file says.")
    if pixels.dtype != numpy.uint8:
        # Deeper greys and palettes: the whole range onto 8 bits. Lengths do not depend on it.
        wide = pixels.astype(numpy.float64)
        low, high = float(wide.min()), float(wide.max())
        pixels = ((wide - low) * (255 / (high - low) if high > low else 0)).round().astype(numpy.uint8)
    if kind == "MONOCHROME1":
        pixels = 255 - pixels
    made = io.BytesIO()
    Image.fromarray(pixels).save(made, "PNG")
    return made.getvalue()
