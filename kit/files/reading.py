"""What a file holds, or in words why the system refuses."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from kit.errors import Fault, KitError

MOST_BYTES = 50_000_000
_DISK_FULL = {errno.ENOSPC, errno.EDQUOT}
_FORBIDDEN = {errno.EACCES, errno.EPERM, errno.EROFS}


def read_bytes(path: str | Path, *, most_bytes: int = MOST_BYTES) -> bytes:
    """All bytes of a plain file of at most `most_bytes`. Raises KitError."""
    path = Path(path)
    with in_words(path, "read"):
        refuse_folder(path)
        if not stat.S_ISREG(path.stat().st_mode):  # a pipe would wait for ever
            raise KitError(Fault("not_a_file", says=f"{path} is not a plain file"))
        with path.open("rb") as file:
            data = file.read(most_bytes + 1)
    if len(data) > most_bytes:
        says = f"{path} is larger than {most_bytes / 1e6:g} MB, the most that is read"
        advice = "Check that it is the right file."
        raise KitError(Fault("too_big", says=says, advice=advice))
    return data


def digest(path: str | Path) -> str:
    """What a file holds now as a short text (SHA-256); "" where there is none."""
    path = Path(path)
    return digest_of(read_bytes(path)) if os.path.lexists(path) else ""


def digest_of(data: bytes) -> str:
    """The same of bytes at hand."""
    return hashlib.sha256(data).hexdigest()


def found_as(path: str | Path, endings: Sequence[str]) -> Path:
    """The file, or where it is not there one of its name with another ending that is.

    >>> found_as("nowhere/stash.csv", [".xlsx"]).name
    'stash.csv'
    """
    path = Path(path)
    if os.path.lexists(path):
        return path
    others = (path.with_suffix(ending) for ending in endings)
    return next((other for other in others if other.is_file()), path)


@contextmanager
def in_words(path: Path, done: str) -> Iterator[None]:
    """What the system refuses, as a KitError. `done` is "read" or "saved"."""
    try:
        yield
    except KitError:
        raise
    except (OSError, ValueError) as error:  # ValueError: no such name can be
        raise KitError(_refusal(path, done, error)) from error


def _refusal(path: Path, done: str, error: Exception) -> Fault:
    number = error.errno if isinstance(error, OSError) else None
    if number == errno.ENOENT and done == "read":
        advice = "Check its name and its folder."
        return Fault("missing_file", says=f"There is no file {path}", advice=advice)
    if number == errno.ENOENT:
        says = f"{path} was not saved: there is no folder {path.parent}"
        return Fault("missing_folder", says=says, advice="Make the folder first.")
    if number in _DISK_FULL:
        says = f"{path} was not saved: the disk is full. The file is as it was before"
        return Fault("disk_full", says=says, advice="Make room and save again.")
    if number in _FORBIDDEN:
        says = f"{path} cannot be {done}: it or its folder is protected or in use"
        advice = "Close it in other programs, or use another folder."
        return Fault("read_only", says=says, advice=advice)
    reason = getattr(error, "strerror", None) or "its name cannot be used"
    return Fault("unusable", says=f"{path!s} cannot be {done}: {reason}")


def refuse_folder(path: Path) -> None:
    """Raise KitError where the path is a folder."""
    if path.is_dir():
        says = f"{path} is a folder, not a file"
        raise KitError(Fault("is_a_folder", says=says))


def silence(stream: TextIO) -> None:
    """Lead what is still printed to nowhere: whoever read it is gone."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)
