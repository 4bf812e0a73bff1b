"""The colour desk: choose how the yarns run, move them, and see what it does."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from kit.blanket import Blanket
from kit.blanket.whereabouts import blanket_in_view
from kit.needles import check_may_replace
from kit.plan import Plan
from kit.report import write_plan
from kit.widgets.colour.bridges import BridgesPanel
from kit.widgets.colour.kept_steps import KeptStepsPanel
from kit.widgets.colour.look import ColourLook
from kit.widgets.colour.order import OrderPanel
from kit.widgets.colour.results import (
    ClothPanel,
    ColourNumbers,
    FromFarPanel,
    MovesPanel,
    SecondPanel,
)
from kit.widgets.colour.state import ColourState, Pool
from kit.widgets.colour.work import ColourWork
from kit.widgets.lines import Wrapped, messages_beside
from kit.widgets.panel import OpenPlan
from kit.widgets.which import Which


class ColourDesk:
    """One blanket's colours under the knitter's hands.

    `which`, `order`, `look`, `from_far`, `cloth`, `numbers`, `moves`, `kept_steps`,
    `bridges` and `second` are the panels a notebook shows, in any order. Every change
    is saved to blanket.toml; where that cannot be, it is told and tried again with the
    next one.
    """

    def __init__(self, folder: str | Path | None = None) -> None:
        self.work = work = ColourWork(self._show, lambda words: self.look.tell(words))
        messages = Wrapped(120)
        self.write = widgets.Button(
            description="Write the plan", button_style="primary"
        )
        self.open_plan = OpenPlan(messages)
        beside = [self.write, self.open_plan]
        self.which = Which(self._open, said=messages, beside=beside)
        self.order = OrderPanel(work.choose)
        self.look = ColourLook(work.act, work.choose)
        self.from_far, self.cloth = FromFarPanel(), ClothPanel()
        self.numbers, self.moves = ColourNumbers(), MovesPanel()
        self.kept_steps = KeptStepsPanel(work.choose)
        self.bridges = BridgesPanel(work.choose, work.try_out)
        self.second = SecondPanel()
        self._pool: Pool | None = None
        self._settled: Plan | None = None
        self.which.on(self.write, self._write)
        messages_beside(messages)(self._open)(Path(folder or blanket_in_view()))

    @property
    def plan(self) -> Plan:
        """The plan last worked out. Raises KitError where there is none."""
        return self.work.state.plan

    @property
    def blanket(self) -> Blanket:
        """The blanket with what is chosen now. Raises KitError where there is none."""
        return self.work.state.blanket

    def _open(self, folder: Path) -> None:
        self.which.show(folder)
        path = self.which.path
        self.open_plan.offer(path / "plan" / "plan.html")
        self.work.read(path, self.which.said)

    def _write(self) -> None:
        """Write the plan from what is chosen now, saved or not."""
        check_may_replace(self.blanket)
        messages, target = self.which.said, self.blanket.folder / "plan"
        messages.say(["Drawing the pictures and writing the pages …"])
        write_plan(self.work.whole_plan(), target)
        self.open_plan.offer(target / "plan.html")
        messages.say([f"Written: {target / 'plan.html'}"])

    def _show(self, state: ColourState) -> None:
        """Numbers come first, then the pictures of the run, then all the rest."""
        if state.pool is not self._pool:  # files were read: what was said is settled
            self._pool = state.pool
            for panel in (self.order, self.look, self.kept_steps, self.bridges):
                panel.said.say([])
        for panel in (self.look, self.from_far, self.order, self.numbers):
            panel.show(state)
        for panel in (self.cloth, self.kept_steps, self.bridges):
            panel.show(state)
        if state.settled and state.plan is not self._settled:
            self._settled = state.plan
            for panel in (self.bridges, self.moves, self.second):
                panel.settle(state.plan)
