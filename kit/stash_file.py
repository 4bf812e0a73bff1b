"""A stash.csv that is being worked on: read, changed, saved, and put back.

What was read is kept with its digest: where another program has changed the file in
the meantime, nothing is saved.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from kit.blanket import STASH, Blanket, family_faults, open_blanket
from kit.edits import check_kept_names, file_bytes, reread
from kit.errors import KitError
from kit.files import digest, read_bytes, save_bytes
from kit.stash import Stash, Yarn, read_stash
from kit.table import Table


@dataclass(frozen=True, slots=True)
class StashFile:
    """One blanket's stash.csv as last read or saved.

    seen      its digest then
    past      what it held before each change made since it was read, oldest first
    blanket   the whole folder, None where its other files cannot be read: `said` why
    """

    path: Path
    stash: Stash
    data: bytes
    seen: str
    past: tuple[bytes, ...]
    blanket: Blanket | None
    said: tuple[str, ...]

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
    path = Path(folder) / STASH
    seen = digest(path)  # first: a change made in between is then noticed
    data = read_bytes(path)
    stash = _read(data)
    blanket: Blanket | None = None
    said: tuple[str, ...] = ()
    try:
        blanket = open_blanket(folder)
    except KitError as error:
        said = tuple(str(error).splitlines())
    return StashFile(path, stash, data, seen, (), blanket, said)


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
    return replace(
        file, stash=after, data=data, seen=seen, past=(*file.past, file.data)
    )


def undone(file: StashFile) -> StashFile:
    """Put back the very bytes that were there before the last change."""
    if not file.past:
        return file
    *past, data = file.past
    seen = _write(file, data)
    return replace(file, stash=_read(data), data=data, seen=seen, past=tuple(past))


def _write(file: StashFile, data: bytes) -> str:
    return save_bytes(
        file.path, data, keep_previous=True, unless_changed_since=file.seen
    )


def _read(data: bytes) -> Stash:
    stash = read_stash(data, file=STASH)
    if faults := family_faults(stash, STASH):
        raise KitError(faults)
    return stash
