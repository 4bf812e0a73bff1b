"""Files written beside the one they are to replace, safe on the disk before they do."""

from __future__ import annotations

import errno
import os
import re
import secrets
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from kit.errors import Fault, KitError
from kit.files.reading import refuse_folder

LEFT_OVER_AFTER_S = 60.0
TEMPORARY = re.compile(r"\.[0-9a-f]{16}\.saving")

_NO_SYNC = {errno.EINVAL, errno.ENOTSUP, errno.EBADF, errno.EROFS}  # of a folder


def target_of(path: Path) -> Path:
    """The file itself, behind links; refused where it cannot be replaced."""
    target = Path(os.path.realpath(path))
    refuse_folder(target)
    if target.exists():
        if not stat.S_ISREG(target.stat().st_mode):
            raise KitError(Fault("not_a_file", says=f"{path} is not a plain file"))
        writable = target.stat().st_mode & 0o222 and os.access(target, os.W_OK)
        if not writable:  # replacing would not mind, but the owner would
            raise PermissionError(errno.EACCES, "read-only")
    return target


def holds(target: Path, data: bytes) -> bool:
    """Whether the file is there and holds these bytes."""
    same_size = target.exists() and target.stat().st_size == len(data)
    return same_size and target.read_bytes() == data


def keep_previous_of(target: Path) -> None:
    """What is there now becomes NAME.bak, as private as the file itself."""
    previous = target_of(target.with_name(f"{target.name}.bak"))
    data = target.read_bytes()
    if not holds(previous, data):
        new = write_beside(previous, data, like=target)
        with placing(new, previous):
            pass


def kept_beside(target: Path, data: bytes) -> Path:
    """NAME.copy.csv, or NAME.copy-2.csv and so on: the first that is free or the same.

    Never another's: what has that name already stays.
    """
    n = 1
    while True:
        number = "" if n == 1 else f"-{n}"
        copy = target.with_name(f"{target.stem}.copy{number}{target.suffix}")
        if holds(copy, data):
            return copy
        if not os.path.lexists(copy):
            break
        n += 1
    new = write_beside(copy, data, like=target)
    with placing(new, copy):
        pass
    sync_folder(copy.parent)
    return copy


def write_beside(target: Path, data: bytes, *, like: Path | None = None) -> Path:
    """A temporary file in the target's folder that holds the data, safe on the disk.

    Its mode and owner are those of `like` (the target itself), where there is one.
    """
    temporary = target.with_name(f".{secrets.token_hex(8)}.saving")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    try:
        file = os.open(temporary, flags, 0o666)
        try:
            _as_private_as(like or target, temporary)
            rest = memoryview(data)
            while rest:
                rest = rest[os.write(file, rest) :]
            os.fsync(file)
        finally:
            os.close(file)
    except BaseException:
        discard(temporary)
        raise
    return temporary


@contextmanager
def placing(temporary: Path, target: Path) -> Iterator[None]:
    """After the block the temporary file takes the target's place, or it goes away."""
    try:
        yield
        temporary.replace(target)
    except BaseException:
        discard(temporary)
        raise


def discard(temporary: Path) -> None:
    """Take a file away; one that will not go is left for the next sweep."""
    with suppress(OSError):
        temporary.unlink()


def _as_private_as(like: Path, temporary: Path) -> None:
    if not like.exists():
        return
    found = like.stat()
    if hasattr(os, "chown"):
        with suppress(OSError):  # where the owner is another, it cannot be kept
            os.chown(temporary, found.st_uid, found.st_gid)
    temporary.chmod(stat.S_IMODE(found.st_mode))


def sync_folder(folder: Path) -> None:
    """Have the folder's new names on the disk, where the system can do that.

    Raises KitError where it fails: the files are in place, but may not last.
    """
    if os.name == "nt":
        return
    try:
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)
    except OSError as error:
        if error.errno in _NO_SYNC:
            return
        says = f"What was saved in {folder} is there, but the disk reports a fault"
        advice = f"({error.strerror}.) Keep a copy elsewhere."
        raise KitError(Fault("unsafe", says=says, advice=advice)) from error


def sweep(folder: Path) -> None:
    """Take away temporaries that a save which was cut off has left in the folder."""
    for temporary in folder.glob(".*.saving"):
        with suppress(OSError):
            age_s = time.time() - temporary.stat().st_mtime
            if TEMPORARY.fullmatch(temporary.name) and age_s > LEFT_OVER_AFTER_S:
                temporary.unlink()
