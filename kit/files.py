"""The only place that opens the user's files: reading, safe saving, shared folders."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import secrets
import stat
import unicodedata
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from kit.errors import Fault, KitError

MOST_BYTES = 50_000_000

_DISK_FULL = {errno.ENOSPC, errno.EDQUOT}
_FORBIDDEN = {errno.EACCES, errno.EPERM, errno.EROFS}


# --- reading --------------------------------------------------------------------------


def read_bytes(path: str | Path, *, most_bytes: int = MOST_BYTES) -> bytes:
    """All bytes of a plain file of at most `most_bytes`. Raises KitError."""
    path = Path(path)
    with _in_words(path, "read"):
        _refuse_folder(path)
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
    return _digest(read_bytes(path)) if os.path.lexists(path) else ""


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


# --- saving ---------------------------------------------------------------------------


def save_text(
    path: str | Path,
    text: str,
    *,
    keep_previous: bool = False,
    unless_changed_since: str | None = None,
) -> str:
    """`save_bytes` for text, as UTF-8 with its line ends as they are."""
    try:
        data = text.encode("utf-8")
    except UnicodeEncodeError as error:
        says = f"{path} was not saved: its text holds half a letter (a lone surrogate)"
        advice = "Type the text again instead of pasting it."
        raise KitError(Fault("encoding", says=says, advice=advice)) from error
    return save_bytes(
        path,
        data,
        keep_previous=keep_previous,
        unless_changed_since=unless_changed_since,
    )


def save_bytes(
    path: str | Path,
    data: bytes,
    *,
    keep_previous: bool = False,
    unless_changed_since: str | None = None,
) -> str:
    """Save a file whole or not at all, and return its `digest`. Raises KitError.

    The mode of the file is kept, and a link stays a link. With `keep_previous` what was
    there becomes NAME.bak. `unless_changed_since` is the digest of what was read: where
    another program has changed the file since, nothing is saved.
    """
    path = Path(path)
    with _in_words(path, "saved"):
        target = _target(path)
        if _holds(target, data):  # a second save must not overwrite NAME.bak
            return _digest(data)
        if unless_changed_since not in (None, digest(target)):
            raise KitError(_changed(path))
        new = _write_beside(target, data)
        try:
            if keep_previous and target.exists():
                previous = target.with_name(f"{target.name}.bak")
                save_bytes(previous, target.read_bytes())
            new.replace(target)
        finally:
            new.unlink(missing_ok=True)
    return _digest(data)


def save_all(folder: str | Path, contents: Mapping[str, bytes]) -> None:
    """Save a set of files, {name: bytes}, so that a failure leaves the last set whole.

    Makes the folder where it is missing. Everything is written beside first, then put
    in place; where that fails half-way, what was put in place is taken back. Raises
    KitError. (Only a machine that stops dead between two files can leave a mixed set.)
    """
    folder = Path(folder)
    new: dict[Path, Path] = {}
    old: dict[Path, Path] = {}
    with _in_words(folder, "saved"):
        folder.mkdir(parents=True, exist_ok=True)
    try:
        for name, data in contents.items():
            with _in_words(folder / name, "saved"):
                target = _target(folder / name)
                new[target] = _write_beside(target, data)
                if target.exists():
                    old[target] = _write_beside(target, target.read_bytes())
        _put_in_place(new, old)
    finally:
        for temporary in (*new.values(), *old.values()):
            temporary.unlink(missing_ok=True)


def _put_in_place(new: Mapping[Path, Path], old: Mapping[Path, Path]) -> None:
    begun = []
    try:
        for target, temporary in new.items():
            begun.append(target)
            with _in_words(target, "saved"):
                temporary.replace(target)
    except BaseException:
        for target in begun:
            with suppress(OSError):
                if target in old:
                    old[target].replace(target)
                else:
                    target.unlink(missing_ok=True)
        raise


def _target(path: Path) -> Path:
    """The file itself, behind links; refused where it cannot be replaced."""
    target = Path(os.path.realpath(path))
    _refuse_folder(target)
    if target.exists():
        if not stat.S_ISREG(target.stat().st_mode):
            raise KitError(Fault("not_a_file", says=f"{path} is not a plain file"))
        writable = target.stat().st_mode & 0o222 and os.access(target, os.W_OK)
        if not writable:  # replacing would not mind, but the owner would
            raise PermissionError(errno.EACCES, "read-only")
    return target


def _holds(target: Path, data: bytes) -> bool:
    same_size = target.exists() and target.stat().st_size == len(data)
    return same_size and target.read_bytes() == data


def _write_beside(target: Path, data: bytes) -> Path:
    temporary = target.with_name(f".{secrets.token_hex(8)}.saving")
    try:
        with temporary.open("xb") as file:
            if target.exists():
                temporary.chmod(stat.S_IMODE(target.stat().st_mode))
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


# --- what can go wrong ----------------------------------------------------------------


@contextmanager
def _in_words(path: Path, done: str) -> Iterator[None]:
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


def _refuse_folder(path: Path) -> None:
    if path.is_dir():
        says = f"{path} is a folder, not a file"
        raise KitError(Fault("is_a_folder", says=says))


def _changed(path: Path) -> Fault:
    says = f"{path} was not saved: another program has changed it since it was read"
    advice = "Read it again and make the change once more."
    return Fault("changed_elsewhere", says=says, advice=advice)


# --- names and folders ----------------------------------------------------------------

# Names that Windows keeps for devices, whatever their ending.
_RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|$)", re.IGNORECASE)


def file_name(text: str, *, otherwise: str = "blanket") -> str:
    """Any text as a name that every system takes; `otherwise` where nothing is left.

    Letters and digits of all scripts stay; at most 80 bytes, so that endings fit.

    >>> file_name("Reading-room throw: no. 2/3")
    'Reading-room-throw-no.-2-3'
    """
    kept = "".join(
        c if c in "._" or unicodedata.category(c)[0] in "LMN" else "-"
        for c in unicodedata.normalize("NFC", text)
    )
    kept = re.sub("-+", "-", kept).encode()[:80].decode(errors="ignore").strip("-._")
    return f"_{kept}" if _RESERVED.match(kept) else kept or otherwise


def shared_folder(name: str) -> Path:
    """Where the kit's own "data" or "notebooks" lie: in the package, or beside it."""
    package = Path(__file__).resolve().parent
    for folder in (package / name, package.parent / name):
        if folder.is_dir():
            return folder
    says = f"The kit's own folder {name} is missing"
    raise KitError(Fault("missing_folder", says=says, advice="Install the kit again."))
