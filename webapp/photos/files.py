"""Photos and clips as files beside the database, named by the SHA-256 of their bytes.

`<database>.photos/ab/abcd...` is whole and verified; `<database>.photos/partial/abcd...` is on its way. A
part is kept when the line is cut, so that the phone goes on where it stopped. Nothing is ever overwritten:
the same name is the same bytes.
"""

import hashlib
import io
import os
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, NamedTuple, Protocol

from webapp.photos import locking

PIECE = 64 * 1024
_NAME = re.compile(r"[0-9a-f]{64}")
# First bytes (from an offset) and what they begin. A phone sends only what it made itself.
KINDS = (
    (0, b"\xff\xd8\xff", "image/jpeg"),
    (0, b"\x89PNG\r\n\x1a\n", "image/png"),
    (8, b"WEBP", "image/webp"),
    (4, b"ftypheic", "image/heic"),
    (4, b"ftyp", "video/mp4"),
    (0, b"\x1aE\xdf\xa3", "video/webm"),
)


class Source(Protocol):
    """Where bytes come from: a request's body or a file."""

    def read(self, size: int, /) -> bytes: ...


class Held(NamedTuple):
    """How many bytes are here, and whether that is all of them."""

    size: int
    complete: bool


class PhotoError(Exception):
    """The bytes were not taken; `held` is from where to go on."""

    def __init__(self, code: str, message: str, held: int = 0):
        super().__init__(message)
        self.code = code
        self.message = message
        self.held = held


def folder_of(database: Path | str) -> Path:
    """Where a practice's photos lie: each database has its own folder."""
    return Path(database).with_suffix(".photos")


def is_name(name: object) -> bool:
    """Whether this can name a photo: 64 lower-case hex digits. Entries come from phones, and may hold anything."""
    return isinstance(name, str) and _NAME.fullmatch(name) is not None


def path_of(folder: Path, name: str) -> Path:
    """The whole file of this hash, there or not. Raises ValueError for what is no hash."""
    if not is_name(name):
        raise ValueError("A photo is named by the 64 lower-case hex digits of its SHA-256.")
    return folder / name[:2] / name


def held(folder: Path, name: str) -> Held:
    """What is here of a photo."""
    whole = path_of(folder, name)
    if whole.is_file():
        return Held(whole.stat().st_size, True)
    part = _part(folder, name)
    return Held(part.stat().st_size if part.is_file() else 0, False)


def take(folder: Path, name: str, start: int, total: int, source: Source) -> Held:
    """Add bytes from `start` on; once `total` are here, verify them and make them the whole file.

    What came before a cut line stays. Raises PhotoError: wrong_offset (go on from `held`), hash_differs and
    not_a_picture (nothing is kept), busy.
    """
    whole = path_of(folder, name)
    if whole.is_file():
        return Held(whole.stat().st_size, True)
    part = _part(folder, name)
    part.parent.mkdir(parents=True, exist_ok=True)
    with _alone(part) as file:
        here = os.fstat(file.fileno()).st_size
        if start > here:
            raise PhotoError("wrong_offset", f"Only {here} bytes are here: go on from there.", here)
        file.seek(start)
        _copy(source, file, total - start)
        file.flush()
        os.fsync(file.fileno())
        here = os.fstat(file.fileno()).st_size
        if here < total:
            return Held(here, False)
        _verify(part, file, name, total)
        _make_whole(part, whole)
    return Held(total, True)


def take_whole(folder: Path, name: str, data: bytes) -> Held:
    """Take all of a photo at once, whatever part of it is here. Raises PhotoError."""
    _part(folder, name).unlink(missing_ok=True)
    return take(folder, name, 0, len(data), io.BytesIO(data))


def finish(folder: Path, name: str) -> None:
    """Make whole what was cut off after its last byte and before its verification."""
    part = _part(folder, name)
    if part.is_file() and hash_of(part) == name and kind_of(part) is not None:
        _make_whole(part, path_of(folder, name))


def _make_whole(part: Path, whole: Path) -> None:
    whole.parent.mkdir(parents=True, exist_ok=True)
    os.replace(part, whole)
    sync_folder(whole.parent)


def kind_of(path: Path) -> str | None:
    """The media type by the first bytes, or None for anything that is no picture or clip."""
    with path.open("rb") as file:
        first = file.read(32)
    return next((kind for at, mark, kind in KINDS if first[at : at + len(mark)] == mark), None)


def hash_of(path: Path) -> str:
    """The SHA-256 of a file's bytes."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def copy_missing(source: Path, target: Path, tell: Callable[[int], None] = lambda done: None) -> int:
    """Copy the whole files that `target` lacks; returns how many. A file is there whole or not at all."""
    done = 0
    for file in sorted(source.glob("??/*")):
        there = path_of(target, file.name)
        if there.is_file():
            continue
        there.parent.mkdir(parents=True, exist_ok=True)
        arriving = there.with_suffix(".arriving")
        with file.open("rb") as read, arriving.open("wb") as write:
            _copy(read, write, file.stat().st_size)
            write.flush()
            os.fsync(write.fileno())
        os.replace(arriving, there)
        done += 1
        tell(done)
    return done


def remove(folder: Path, name: str) -> None:
    """Delete a photo or clip whose entries were erased."""
    for path in (path_of(folder, name), _part(folder, name)):
        path.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Make a rename in this folder last through a power cut."""
    if sys.platform == "win32":
        return  # a folder cannot be opened there; NTFS logs renames itself
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _part(folder: Path, name: str) -> Path:
    path_of(folder, name)  # a name, or nothing
    return folder / "partial" / name


@contextmanager
def _alone(part: Path) -> Iterator[IO[bytes]]:
    """The part's file, with nobody else writing to it."""
    with locking.opened(part) as file:
        try:
            locking.hold(file)
        except BlockingIOError as error:
            raise PhotoError("busy", "This photo is being sent already.") from error
        yield file


def _copy(source: Source, target: IO[bytes], most: int) -> None:
    left = most
    while left > 0:
        piece = source.read(min(PIECE, left))
        if not piece:
            return
        target.write(piece)
        left -= len(piece)


def _verify(part: Path, file: IO[bytes], name: str, total: int) -> None:
    """Raises PhotoError and drops the part when it is not what its name says."""
    file.truncate(total)
    file.seek(0)
    if hashlib.file_digest(file, "sha256").hexdigest() != name:  # type: ignore[arg-type]
        part.unlink()
        raise PhotoError("hash_differs", "These bytes are not those of that name: send the photo again.")
    if kind_of(part) is None:
        part.unlink()
        raise PhotoError("not_a_picture", "Photos are JPEG, PNG, WebP or HEIC, clips MP4 or WebM.")
