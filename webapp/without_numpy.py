"""Loads sqlite-utils before numpy can be found: it takes numpy along where that is installed, which would make every
start a sixth of a second longer. Only the DICOM files need numpy, and bring it themselves where they are asked for."""

import sys

if "numpy" not in sys.modules and "sqlite_utils" not in sys.modules:
    sys.modules["numpy"] = None  # type: ignore[assignment]
    try:
        import sqlite_utils  # noqa: F401
    finally:
        del sys.modules["numpy"]
