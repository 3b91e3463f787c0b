"""A file that one process writes at a time, on Linux, macOS and Windows."""

import os
import sys
from pathlib import Path
from typing import IO

BINARY = getattr(os, "O_BINARY", 0)  # Windows would change line ends in a photo


def opened(path: Path) -> IO[bytes]:
    """The file, made where it is missing, readable by its owner only."""
    return os.fdopen(os.open(path, os.O_RDWR | os.O_CREAT | BINARY, 0o600), "r+b")


if sys.platform == "win32":
    import msvcrt

    def hold(file: IO[bytes]) -> None:
        """Keep others out until the file is closed. Raises BlockingIOError when somebody else holds it."""
        # A byte beyond any photo: a lock here keeps others from reading what it covers.
        file.seek(2**40)
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError as error:
            raise BlockingIOError(*error.args) from error
        finally:
            file.seek(0)

else:
    import fcntl

    def hold(file: IO[bytes]) -> None:
        """Keep others out until the file is closed. Raises BlockingIOError when somebody else holds it."""
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
