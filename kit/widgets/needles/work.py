"""What happens on the needles: each line entered in knitted.csv at once, each plan of
the rest kept beside those before it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from kit.needles import where_things_stand
from kit.needles.replan import Replan
from kit.needles.status import Status, save_replan
from kit.widgets.lines import Lines

# Called with what enters a line in a folder's log, what is told of it, and where.
Enter = Callable[[Callable[[Path], Status], str, Lines], None]


class NeedlesWork:
    """Holds where things stand, and hands every change of it to `show`."""

    status: Status  # once a blanket is read

    def __init__(self, show: Callable[[Status], None]) -> None:
        self._show = show

    @property
    def folder(self) -> Path:
        return self.status.blanket.folder

    def read(self, folder: Path) -> None:
        """Read a blanket's folder. Raises KitError, all as it was."""
        self._now(where_things_stand(folder))

    def enter(self, line: Callable[[Path], Status], words: str, said: Lines) -> None:
        """Enter a line in the log, or take one out. Raises KitError, all as it was."""
        self._now(line(self.folder))
        said.say([words])

    def keep(self, replanned: Replan) -> Path:
        """Write the plan of the rest, which is followed from here on; its folder."""
        path = save_replan(self.status, replanned)
        self.read(self.folder)
        return path

    def _now(self, status: Status) -> None:
        self.status = status
        self._show(status)
