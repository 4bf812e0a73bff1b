"""The only place that opens the user's files: reading, safe saving, shared folders."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import re
import shutil
import stat
import unicodedata
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TextIO

from kit.errors import Fault, KitError
from kit.files.locking import one_at_a_time
from kit.files.refusals import changed, in_words, refuse_folder
from kit.files.writing import (
    TEMPORARY,
    discard,
    holds,
    keep_previous_of,
    kept_beside,
    placing,
    sweep,
    sync_folder,
    target_of,
    write_beside,
)

MOST_BYTES = 50_000_000
LEAST_FREE_BYTES = 1_000_000  # ours: a stash with its .bak is far smaller
STASH, SHOP, CHOICES = "stash.csv", "shop.csv", "blanket.toml"  # of a blanket
LIST = ".shadepath.saving.json"  # what is to go where, while a set is put in place


# --- reading --------------------------------------------------------------------------


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


# --- saving ---------------------------------------------------------------------------


def check_can_save(path: str | Path) -> None:
    """Raise KitError where saving this file is bound to fail, before any work is done.

    A folder that is missing is made by `save_all`: the nearest one above it counts.
    """
    path = Path(path)
    with in_words(path, "saved"):
        folder = target_of(path).parent
        while not folder.exists() and folder != folder.parent:
            folder = folder.parent
        if not folder.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR))
        if not os.access(folder, os.W_OK | os.X_OK):
            raise PermissionError(errno.EACCES, "read-only")
        if shutil.disk_usage(folder).free < LEAST_FREE_BYTES:
            raise OSError(errno.ENOSPC, "full")


def save_text(
    path: str | Path,
    text: str,
    *,
    keep_previous: bool = False,
    unless_changed_since: str | None = None,
    copy_beside: bool = False,
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
        copy_beside=copy_beside,
    )


def save_bytes(
    path: str | Path,
    data: bytes,
    *,
    keep_previous: bool = False,
    unless_changed_since: str | None = None,
    copy_beside: bool = False,
) -> str:
    """Save a file whole or not at all, and return its `digest`. Raises KitError.

    The mode of the file is kept, and a link stays a link. With `keep_previous` what was
    there becomes NAME.bak. `unless_changed_since` is the digest of what was read: where
    another program has changed the file since, it stays as it is; with `copy_beside`
    what was to be saved is then kept beside it, and the error names the copy.
    """
    path = Path(path)
    with in_words(path, "saved"):
        target = target_of(path)
        with one_at_a_time(target.parent):
            _mend(target.parent)
            sweep(target.parent)
            if holds(target, data):  # a second save must not overwrite NAME.bak
                return digest_of(data)
            known = unless_changed_since
            if known is not None and known != digest(target):
                copy = kept_beside(target, data) if copy_beside else None
                raise KitError(changed(path, copy))
            new = write_beside(target, data)
            with placing(new, target):
                if keep_previous and target.exists():
                    keep_previous_of(target)
            sync_folder(target.parent)
    return digest_of(data)


def save_all(
    folder: str | Path, contents: Mapping[str, bytes], *, without: Sequence[str] = ()
) -> None:
    """Save a set of files, {name: bytes}, so that a failure leaves the last set whole.

    Files named in `without` that are not in the new set go once that is in place.
    Makes the folder where it is missing. Everything is written beside first, then a
    list of what is to go where, then it is put in place. A failure half-way takes back
    what was put in place; a machine that stops dead half-way leaves the list, and
    `mend` (or the next save in the folder) puts the rest in place. Raises KitError.
    """
    folder = Path(folder)
    new: dict[Path, Path] = {}
    old: dict[Path, Path] = {}
    with in_words(folder, "saved"):
        folder.mkdir(parents=True, exist_ok=True)
        folder = Path(os.path.realpath(folder))
    with in_words(folder, "saved"), one_at_a_time(folder):
        _mend(folder)
        sweep(folder)
        try:
            for name, data in contents.items():
                with in_words(folder / name, "saved"):
                    target = target_of(folder / name)
                    new[target] = write_beside(target, data)
                    if target.exists():
                        old[target] = write_beside(target, target.read_bytes())
            list_ = _list_beside(folder, new)
            _put_in_place(new, old, list_)
            discard(list_)  # all is in place: a list that stays does no harm
            for name in set(without) - set(contents):
                discard(folder / name)
            sync_folder(folder)
        finally:
            for temporary in (*new.values(), *old.values()):
                discard(temporary)


def mend(folder: str | Path) -> None:
    """Finish a `save_all` in this folder that a dead stop has interrupted."""
    folder = Path(folder)
    if (folder / LIST).exists():
        with in_words(folder, "saved"), one_at_a_time(folder):
            _mend(folder)


def _mend(folder: Path) -> None:
    """Put in place what the list names. Names that lead elsewhere are passed over."""
    list_ = folder / LIST
    if not list_.exists():
        return
    try:
        places = json.loads(list_.read_bytes())
    except ValueError:
        places = {}
    for temporary, name in places.items() if isinstance(places, dict) else ():
        whole = TEMPORARY.fullmatch(temporary) and isinstance(name, str)
        if whole and name == Path(name).name and (folder / temporary).is_file():
            (folder / temporary).replace(folder / name)
    list_.unlink()
    sync_folder(folder)


def _list_beside(folder: Path, new: Mapping[Path, Path]) -> Path:
    """The list of what is to go where, itself saved whole."""
    places = {
        temporary.name: target.name
        for target, temporary in new.items()
        if target.parent == folder
    }
    temporary = write_beside(folder / LIST, json.dumps(places).encode())
    with placing(temporary, folder / LIST):
        sync_folder(folder)
    sync_folder(folder)
    return folder / LIST


def _put_in_place(
    new: Mapping[Path, Path], old: Mapping[Path, Path], list_: Path
) -> None:
    begun = []
    try:
        for target, temporary in new.items():
            begun.append(target)
            with in_words(target, "saved"):
                temporary.replace(target)
    except BaseException:
        for target in begun:
            with suppress(OSError):
                if target in old:
                    old[target].replace(target)
                else:
                    target.unlink(missing_ok=True)
        discard(list_)
        raise


def silence(stream: TextIO) -> None:
    """Lead what is still printed to nowhere: whoever read it is gone."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)


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
    package = Path(__file__).resolve().parents[1]
    for folder in (package / name, package.parent / name):
        if folder.is_dir():
            return folder
    says = f"The kit's own folder {name} is missing"
    raise KitError(Fault("missing_folder", says=says, advice="Install the kit again."))
