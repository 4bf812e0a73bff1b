"""The needles desk: log what was joined and weighed, see where it leads, plan anew."""

from __future__ import annotations

from pathlib import Path

from kit.blanket.whereabouts import blanket_in_view
from kit.needles.status import Status
from kit.widgets.lines import Wrapped
from kit.widgets.needles.anew import AnewPanel
from kit.widgets.needles.join import JoinPanel
from kit.widgets.needles.more import MorePanel
from kit.widgets.needles.results import BallsPanel, LogPanel, NowPanel, SurePanel
from kit.widgets.needles.work import NeedlesWork
from kit.widgets.which import Which


class NeedlesDesk:
    """One blanket on the needles. Every line is saved in knitted.csv at once.

    `which`, `join`, `more`, `now`, `balls`, `sure`, `anew` and `log` are the panels a
    notebook shows, in any order.
    """

    def __init__(self, folder: str | Path | None = None) -> None:
        self.work = NeedlesWork(self._show)
        self.which = Which(self._open, said=Wrapped(120))
        self.join, self.more = JoinPanel(self.work.enter), MorePanel(self.work.enter)
        self.now, self.balls, self.sure = NowPanel(), BallsPanel(), SurePanel()
        self.anew, self.log = AnewPanel(self.work.keep), LogPanel()
        self._open(Path(folder) if folder else blanket_in_view())

    @property
    def standing(self) -> Status:
        """Where the open blanket stands."""
        return self.work.status

    def _open(self, folder: Path) -> None:
        self.work.read(folder)
        self.which.show(self.work.folder)
        number = self.standing.number
        name = "plan" if number < 2 else f"plan-{number}"
        followed = [f"Followed: {name}/plan.html"] if number else []
        self.which.said.say([f"Open: {self.work.folder}", *followed])

    def _show(self, status: Status) -> None:
        for panel in (self.join, self.more, self.now, self.balls, self.sure):
            panel.show(status)
        for panel in (self.anew, self.log):
            panel.show(status)
