"""A DICOM file on its way in: opened within limits, compared with the animal. Nothing of its header is kept.

Slow to load: imported where a file is looked at. Sources: DICOM PS3.5 (transfer syntaxes), PS3.3 C.7.1.1 (the patient).
"""

import hashlib
import io
import struct
import warnings
from collections.abc import Mapping
from typing import Any, NamedTuple

from pydicom import dcmread
from pydicom.dataset import Dataset
from pydicom.errors import InvalidDicomError
from pydicom.filereader import _read_file_meta_info, read_preamble
from pydicom.uid import JPEG2000 as JPEG2000Lossy
from pydicom.uid import ExplicitVRLittleEndian, ImplicitVRLittleEndian, JPEG2000Lossless, JPEGBaseline8Bit

# Nothing that unfolds while the header is read (deflated); only pictures whose size is known before they are opened.
PLAIN = (ImplicitVRLittleEndian, ExplicitVRLittleEndian)
PACKED = (JPEGBaseline8Bit, JPEG2000Lossless, JPEG2000Lossy)
# What damaged files make the library raise (RuntimeError: nested too deep, or packed in a way it does not know).
DAMAGE = (InvalidDicomError, ValueError, TypeError, KeyError, IndexError, AttributeError, EOFError, OSError,
          RuntimeError, OverflowError, struct.error)  # fmt: skip
CHIP_LENGTH = 15
_OWN_ID = "00000000-0000-7000-8000-000000000000"


class Unusable(ValueError):
    """The file cannot be taken; the message says why and what to do."""


class Compared(NamedTuple):
    """A fact of the header beside the exam's: `fits` is True, False, or None where one of them says nothing."""

    label: str
    there: str
    here: str
    fits: bool | None


def opened(data: bytes) -> Dataset:
    """The file's data set. Raises Unusable."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about spellings of values that nobody here reads
        try:
            start = io.BytesIO(data)
            read_preamble(start, force=False)
            syntax = _read_file_meta_info(start).TransferSyntaxUID
            if syntax not in (*PLAIN, *PACKED):
                raise Unusable(f"The file is packed as {syntax.name}, which is not opened here. Let the machine give "
                               "it out uncompressed or as JPEG.")
            return dcmread(io.BytesIO(data))
        except Unusable:
            raise
        except InvalidDicomError as error:
            raise Unusable("This is no DICOM file.") from error
        except DAMAGE as error:
            raise Unusable(f"The file is damaged and cannot be read ({type(error).__name__}).") from error


def sha256(data: bytes) -> str:
    """What names the file: lower-case hex."""
    return hashlib.sha256(data).hexdigest()


def compared(data: Dataset, patient: Mapping[str, Any], ids: tuple[str, ...]) -> list[Compared]:
    """The header's animal beside the exam's: name, chip or number, species, sex, day of birth. `ids` = numbers that
    are known here besides the chip."""
    try:
        return [_name(data, patient), _number(data, patient, ids), _species(data, patient), *_plain(data, patient)]
    except DAMAGE as error:
        raise Unusable(f"The file's header is damaged and cannot be read ({type(error).__name__}).") from error


def _name(data: Dataset, patient: Mapping[str, Any]) -> Compared:
    """The animal's name stands in the second component, the owner's family name before it; some write one name only."""
    there = [piece.strip() for piece in str(data.get("PatientName") or "").split("=")[0].split("^") if piece.strip()]
    here = str(patient.get("name") or "")
    fits = here.casefold() in [piece.casefold() for piece in there] if there and here else None
    # The rest of the name is an owner's and is not shown.
    shown = here if fits else there[1] if len(there) > 1 else there[0] if there else ""
    return Compared("Name", shown, here, fits)


def _number(data: Dataset, patient: Mapping[str, Any], ids: tuple[str, ...]) -> Compared:
    others = [str(item.get("PatientID") or "") for item in data.get("OtherPatientIDsSequence") or []]
    there = [one.strip() for one in (str(data.get("PatientID") or ""), *others) if one.strip()]
    here = [str(one) for one in (patient.get("microchip"), *ids) if one]
    if any(one in here for one in there):
        fits: bool | None = True
    else:
        # Two numbers of different kinds say nothing; two chips that differ say that these are two animals.
        chips = [one for one in there if len(one) == CHIP_LENGTH and one.isdecimal()]
        fits = False if chips and patient.get("microchip") else None
    # Our own id of the record is known again, and is nothing that people read.
    shown = [one for one in here if one in there or len(one) < len(_OWN_ID)]
    return Compared("Chip or number", ", ".join(there), ", ".join(shown), fits)


def _species(data: Dataset, patient: Mapping[str, Any]) -> Compared:
    from webapp.exchange import codes, meanings

    told = [str(item.get("CodeValue") or "") for item in data.get("PatientSpeciesCodeSequence") or []]
    words = str(data.get("PatientSpeciesDescription") or "")
    here = str(patient.get("species") or "")
    there = next((name for name, row in codes.table()["species"].items() if row[1] in told), None)
    if there is None and words:
        try:
            there = meanings.species(words.split()[0])
        except ValueError:
            there = None
    return Compared("Species", words or there or "", here, there == here if there and here else None)


def _plain(data: Dataset, patient: Mapping[str, Any]) -> list[Compared]:
    sex = {"M": "male", "F": "female"}.get(str(data.get("PatientSex") or ""), "")
    here = str(patient.get("sex") or "")
    made = [Compared("Sex", sex, here, sex == here if sex and here else None)]
    day = str(data.get("PatientBirthDate") or "")
    born = f"{day[:4]}-{day[4:6]}-{day[6:8]}" if len(day) == 8 and day.isdecimal() else ""
    here = str(patient.get("birth_date") or "")
    return [*made, Compared("Born", born, here, born == here if born and here else None)]
