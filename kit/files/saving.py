"""Files, and sets of files, saved whole or not at all."""

from __future__ import annotations

import errno
import json
import os
import shutil
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from kit.errors import Fault, KitError
from kit.files.locking import one_at_a_time
from kit.files.reading import digest, digest_of, in_words
from kit.files.temporaries import (
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

LEAST_FREE_BYTES = 1_000_000  # ours: a stash with its .bak is far smaller
LIST = ".shadepath.saving.json"  # what is to go where, while a set is put in place


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
                raise KitError(_changed(path, copy))
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


def _changed(path: Path, copy: Path | None) -> Fault:
    """The fault of a file that is not what was read; `copy` is what is kept instead."""
    says = f"{path} was not saved: another program has changed it since it was read"
    advice = "Read it again and make the change once more."
    if copy:
        advice += f" What was to be saved is kept beside it as {copy.name}."
    return Fault("changed_elsewhere", says=says, advice=advice)
