"""Every code that goes out, against pydicom's copy of the DICOM dictionary (PS3.16) and against the catalogue."""

from collections.abc import Iterator

import pytest
from pydicom.sr._concepts_dict import concepts

from webapp import rules
from webapp.exchange import codes

# Valid by UCUM (ucum.org: kg and L are in it, braces are an annotation), and not in DICOM's extract of it.
BEYOND_DICOM = {"kg", "mL", "{score}"}


def rows() -> Iterator[codes.Code]:
    table = codes.table()
    for part in ("structures", "measures", "sides", "species", "units"):
        yield from (codes.Code(*row) for row in table[part].values())
    yield from (codes.document(), codes.modality())


@pytest.mark.parametrize("code", list(rows()), ids=str)
def test_a_code_stands_in_the_dictionary_with_this_meaning(code: codes.Code) -> None:
    if code.scheme == "UCUM" and code.value in BEYOND_DICOM:
        return
    meanings = {told[code.value][0] for told in concepts[code.scheme].values() if code.value in told}
    assert code.meaning in meanings, f"{code}: {meanings or 'not in the dictionary'}"


def test_every_unit_of_the_catalogue_has_a_code_and_every_row_an_organ() -> None:
    catalogue = rules.tables()["catalogue"]
    for quantity in catalogue["quantities"]:
        assert codes.unit(quantity["unit"]).scheme == "UCUM"
    organs = {row["id"].partition(".")[0] for row in catalogue["structures"]}
    assert set(codes.table()["structures"]) <= organs


def test_a_side_and_a_part_are_never_lost_in_a_code() -> None:
    assert codes.site("kidney.left", True) == ("SCT", "64033007", "Kidney")
    assert codes.side("kidney.left", True) == ("SCT", "7771000", "Left") and codes.side("liver", True) is None
    assert codes.measure("kidney.left.length", "kidney.left", True) == ("SCT", "410668003", "Length")
    assert codes.measure("adrenal.left.caudal_pole_thickness", "adrenal.left", True) is None
    assert codes.measure("pancreas.right_lobe.duct_diameter", "pancreas", True) is None
    assert codes.measure("jejunum.wall_thickness", "jejunum", False) == ("DCM", "122445", "Wall Thickness")
    assert codes.site("kidney.left", False) is None and codes.site("vena_cava", True) is None
