"""A stash.csv that is being worked on: read, changed, saved, and put back.

What was read is kept with its digest: where another program has changed the file in
the meantime, it stays as it is, and what was to be saved is kept beside it.

A workbook is read as it is and never written: its first change makes a stash.csv.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from kit.blanket.edits import check_kept_names, file_bytes, reread
from kit.blanket.folder import Blanket, family_faults, open_blanket, stash_path
from kit.blanket.stash import Stash, Yarn, read_stash
from kit.errors import KitError
from kit.files import Table, check_can_save, digest, read_bytes
from kit.files.disk import STASH, digest_of, mend, save_bytes
from kit.files.workbook import ending, is_workbook


@dataclass(frozen=True, slots=True)
class StashFile:
    """One blanket's stash.csv as last read or saved.

    seen      its digest then
    past      what it held before each change made since it was read, oldest first
    blanket   the whole folder, None where its other files cannot be read: `said` why
    workbook  its bytes where what was read is a workbook called stash.csv, else none
    """

    path: Path
    stash: Stash
    data: bytes
    seen: str
    past: tuple[bytes, ...]
    blanket: Blanket | None
    sentences: tuple[str, ...]
    workbook: bytes = b""

    def __repr__(self) -> str:
        return f"StashFile({self.stash!r}, {len(self.past)} changes)"

    @property
    def units(self) -> str:
        """How amounts are shown: "metric" or "imperial"."""
        return self.blanket.choices.units if self.blanket else "metric"


def open_stash(folder: str | Path) -> StashFile:
    """Read a blanket's stash. Raises KitError with every fault of stash.csv.

    Faults of the other files are only said: the stash can be worked on all the same.
    """
    mend(folder)
    path, found = Path(folder) / STASH, stash_path(folder)
    seen = digest(path)  # first: a change made in between is then noticed
    data = read_bytes(found)
    stash = _read(data, found.name)
    blanket: Blanket | None = None
    said: tuple[str, ...] = ()
    try:
        blanket = open_blanket(folder)
    except KitError as error:
        said = tuple(str(error).splitlines())
    try:
        check_can_save(path)
    except KitError as error:
        said += ("Changes cannot be saved as things are.", *str(error).splitlines())
    if not is_workbook(data):
        return StashFile(path, stash, data, seen, (), blanket, said)
    said += (
        f"{found.name} is a workbook: the first change is saved as {STASH}, which is "
        "read from then on; the workbook stays as it is.",
    )
    workbook = data if found == path else b""
    text = file_bytes(stash, b"")
    return StashFile(path, stash, text, seen, (), blanket, said, workbook)


def save_table(file: StashFile, table: Table) -> StashFile:
    """Read the changed table again and save it. Raises KitError, all as it was.

    Refused too: a change by which blanket.toml would name a yarn that is gone.
    """
    after = reread(file.stash, table)
    if file.blanket:
        shop: tuple[Yarn, ...] = file.blanket.shop.yarns if file.blanket.shop else ()
        check_kept_names(file.blanket.choices, file.stash, after, shop)
    data = file_bytes(after, file.data)
    if data == file.data:
        return replace(file, stash=after)
    seen = _write(file, data)
    past = (*file.past, file.data)
    return replace(file, stash=after, data=data, seen=seen, past=past, workbook=b"")


def undone(file: StashFile) -> StashFile:
    """Put back the very bytes that were there before the last change."""
    if not file.past:
        return file
    *past, data = file.past
    seen = _write(file, data)
    return replace(file, stash=_read(data), data=data, seen=seen, past=tuple(past))


def _write(file: StashFile, data: bytes) -> str:
    if file.workbook:
        _set_aside(file)
    return save_bytes(
        file.path,
        data,
        keep_previous=True,
        unless_changed_since=file.seen,
        copy_beside=True,
    )


def _set_aside(file: StashFile) -> None:
    """Keep a workbook that is called stash.csv under its right ending, once."""
    n, right = 1, ending(file.workbook)
    aside = file.path.with_suffix(right)
    while digest(aside) not in ("", digest_of(file.workbook)):
        n += 1
        aside = file.path.with_name(f"{file.path.stem}-{n}{right}")
    save_bytes(aside, file.workbook)


def _read(data: bytes, name: str = STASH) -> Stash:
    stash = read_stash(data, file=name)
    if faults := family_faults(stash, name):
        raise KitError(faults)
    return stash
