"""The fabric desk: gauge, size, strands and pace, with the knitted blanket beside."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from kit.blanket import Blanket
from kit.blanket.whereabouts import blanket_in_view
from kit.needles import check_may_replace
from kit.plan import Plan, plan_blanket
from kit.report import write_plan
from kit.widgets.fabric.along import CarriedPanel, SectionsPanel
from kit.widgets.fabric.controls import SmallBlanket
from kit.widgets.fabric.look import FabricLook, FabricNumbers, JoinsPanel
from kit.widgets.fabric.measures import GaugePanel, SizePanel
from kit.widgets.fabric.state import FabricState, FabricWork
from kit.widgets.fabric.ways import LayoutPanel, PacePanel, StrandsPanel
from kit.widgets.lines import Lines
from kit.widgets.panel import OpenPlan
from kit.widgets.which import Which


class FabricDesk:
    """One blanket's fabric under the knitter's hands.

    `which`, `gauge`, `size`, `strands`, `pace`, `layout`, `sections`, `carried`,
    `look`, `numbers` and `joins` are the panels a notebook shows, in any order. Every
    change is shown at once and saved to blanket.toml.
    """

    def __init__(self, folder: str | Path | None = None) -> None:
        self.work = FabricWork(self._show)
        messages, choose, small = Lines(), self.work.choose, SmallBlanket()
        self.write = widgets.Button(
            description="Write the plan", button_style="primary"
        )
        self.progress = widgets.IntProgress(0, 0, 3, layout={"visibility": "hidden"})
        self.open_plan = OpenPlan(messages)
        beside = [self.write, self.progress, self.open_plan]
        self.which = Which(self._open, said=messages, beside=beside)
        self.gauge, self.size = GaugePanel(choose, small), SizePanel(choose, small)
        self.strands, self.pace = StrandsPanel(choose, small), PacePanel(choose, small)
        self.layout = LayoutPanel(choose, small)
        self.sections = SectionsPanel(choose, small)
        self.carried = CarriedPanel(choose, small)
        self.look = FabricLook(small, messages)
        self.numbers, self.joins = FabricNumbers(), JoinsPanel()
        self.small = small
        self.which.on(self.write, self._write)
        self._open(Path(folder) if folder else blanket_in_view())

    @property
    def plan(self) -> Plan:
        """The plan last worked out."""
        return self.work.state.plan

    @property
    def blanket(self) -> Blanket:
        """The blanket with what is chosen now."""
        return self.work.state.blanket

    def _open(self, folder: Path) -> None:
        self.work.read(folder, self.which.said)
        self.which.show(folder)
        self.open_plan.offer(self.blanket.folder / "plan" / "plan.html")

    def _show(self, state: FabricState) -> None:
        """Numbers first, then the pictures, for the eye is on them; then all controls
        as they are chosen, where these have changed."""
        self.small.show(state.plan)
        for shown in (self.numbers, self.look, self.joins):
            shown.show(state)
        for panel in (self.gauge, self.size, self.strands, self.pace, self.layout):
            panel.show(state)
        for panel in (self.sections, self.carried):
            panel.show(state)

    def _write(self) -> None:
        """Write the plan from what is chosen now, saved or not, telling how far it has
        come."""
        target = self.blanket.folder / "plan"
        check_may_replace(self.blanket)
        self.progress.value, self.progress.layout.visibility = 0, "visible"
        try:
            self._step("Working the plan out …")
            plan = plan_blanket(self.blanket)
            self._step("Drawing the pictures and writing the pages: some seconds …")
            write_plan(plan, target)
            self.open_plan.offer(target / "plan.html")
            self._step(f"Written: {target / 'plan.html'}")
        finally:
            self.progress.layout.visibility = "hidden"

    def _step(self, words: str) -> None:
        self.progress.value += 1
        self.which.said.say([words])
