"""What the stash desk knows at one moment, and what follows from a change of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from kit.blanket import Yarn
from kit.blanket.stash_file import (
    StashFile,
    open_stash,
    row_number,
    save_table,
    undone,
)
from kit.errors import Fault, KitError
from kit.files import Table
from kit.files.folders import STASH
from kit.widgets.lines import Lines
from kit.widgets.stash.yarn_fields import WORDS
from kit.widgets.which import READ_AGAIN

NONE = -1  # no yarn chosen


@dataclass(frozen=True, slots=True)
class StashState:
    """The stash file of a folder, None while it cannot be read, and which yarn is
    chosen, as a place in the file."""

    folder: Path
    file: StashFile | None = None
    at: int = NONE

    @property
    def yarns(self) -> tuple[Yarn, ...]:
        """The yarns as the file has them; none while it cannot be read."""
        return self.file.stash.yarns if self.file else ()

    @property
    def units(self) -> str:
        return self.file.units if self.file else "metric"


class StashWork:
    """Holds the state, and hands every new one to `show`.

    A change is made in the text of stash.csv, read again as a whole and saved.
    """

    def __init__(self, show: Callable[[StashState], None]) -> None:
        self.state = StashState(Path())
        self._show = show

    @property
    def file(self) -> StashFile:
        """The stash file. Raises KitError while it cannot be read."""
        if self.state.file is None:
            says = f"{STASH} cannot be read as it is"
            advice = f'Put it right, then press "{READ_AGAIN}".'
            raise KitError(Fault("no_stash", says=says, advice=advice))
        return self.state.file

    def read(self, folder: Path, said: Lines) -> None:
        """Read a folder's stash. Raises KitError, and there is none then."""
        at, file = self.state.at, None
        self.state = StashState(folder.resolve())
        try:
            file = open_stash(self.state.folder)
        finally:
            self._now(file, at)
        said.say([f"Open: {file.path}", *file.sentences])

    def choose(self, at: int) -> None:
        """Another yarn is looked at."""
        self._now(self.state.file, at)

    def save(self, table: Table, at: int = NONE) -> None:
        """Save a changed table, its row `at` being the one at hand, whose faults are in
        the fields' words. Raises KitError, the file as it was."""
        try:
            file = save_table(self.file, table)
        except KitError as error:
            raise KitError(_at_hand(error, row_number(table, at))) from None
        self._now(file, self.state.at if at == NONE else at)

    def undo(self) -> None:
        """The file as it was before the last change. Raises KitError."""
        self._now(undone(self.file), self.state.at)

    def _now(self, file: StashFile | None, at: int) -> None:
        last = len(file.stash.yarns) - 1 if file else NONE
        self.state = replace(self.state, file=file, at=min(max(at, 0), last))
        self._show(self.state)


def _at_hand(error: KitError, number: int) -> list[Fault]:
    """The faults of the row at hand under the fields' words, those of others whole."""
    return [
        fault.at(file="", row=None, name="", column=WORDS.get(fault.column, ""))
        if fault.row == number
        else fault
        for fault in error.faults
    ]
