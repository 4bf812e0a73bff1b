"""What the system refuses, in words."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from kit.errors import Fault, KitError

_DISK_FULL = {errno.ENOSPC, errno.EDQUOT}
_FORBIDDEN = {errno.EACCES, errno.EPERM, errno.EROFS}


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


def changed(path: Path, copy: Path | None) -> Fault:
    """The fault of a file that is not what was read; `copy` is what is kept instead."""
    says = f"{path} was not saved: another program has changed it since it was read"
    advice = "Read it again and make the change once more."
    if copy:
        advice += f" What was to be saved is kept beside it as {copy.name}."
    return Fault("changed_elsewhere", says=says, advice=advice)
