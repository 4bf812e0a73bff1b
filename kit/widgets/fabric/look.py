"""The knitted blanket as it will look, its totals, cautions and joins."""

from __future__ import annotations

import ipywidgets as widgets
import numpy as np

from kit.plan import Plan
from kit.report.report import fabric_lines
from kit.widgets.fabric.controls import SmallBlanket
from kit.widgets.fabric.state import FabricState
from kit.widgets.fabric.view import (
    BLANK,
    big_look,
    contrast_lines,
    join_lines,
    near_look,
)
from kit.widgets.lines import Lines, Wrapped
from kit.widgets.panel import Panel, svg_image

ACROSS = {"metric": ("m", 6.0, 0.5), "imperial": ("ft", 20.0, 1.0)}
FOOT_M = 0.3048  # international foot, 1959: exact by definition


class FabricLook(Panel):
    """The blanket near or from across the room, in colours or greys; small as well,
    where it stands beside the controls. What cannot be drawn is told in `said`."""

    def __init__(self, small: SmallBlanket, said: Lines) -> None:
        self._small = small
        self._plan: Plan | None = None
        self._near: np.ndarray | None = None
        self._across_m = 1.0
        self._svg: str = BLANK
        self.greys = widgets.Checkbox(description="in greys", indent=False)
        self.distance = widgets.FloatSlider(
            0.0, min=0.0, max=6.0, step=0.5, description="From across the room",
            style={"description_width": "190px"}, layout={"width": "600px"},
            readout_format=".1f",
        )  # fmt: skip
        self.image = svg_image()
        self.image.layout.align_self = "flex-start"  # else it is pulled wide
        self.image.layout.flex = "0 0 auto"
        seen = widgets.HBox([self.image, small.lines])
        super().__init__(
            [self.greys, self.distance, seen], lambda: self._svg, said=said
        )
        self.on(self.greys, self._draw)
        self.on(self.distance, self._draw)

    @property
    def distance_m(self) -> float:
        """How far away the blanket is looked at, in metres."""
        return self.distance.value * self._across_m

    def show(self, state: FabricState) -> None:
        with self.set_by_program():
            self._measure_across(*ACROSS[state.choices.units])
        if state.plan is not self._plan:
            self._plan, self._near = state.plan, near_look(state.plan)
            self._draw()

    def _measure_across(self, unit: str, most: float, step: float) -> None:
        """The distance to look from in this unit; as far away as it was, to a step."""
        slider, was_m = self.distance, self.distance_m
        self._across_m = FOOT_M if unit == "ft" else 1.0
        slider.max, slider.step = max(slider.max, most), step
        slider.value = min(most, round(was_m / self._across_m / step) * step)
        slider.max, slider.description = most, f"From across the room, {unit}"

    def _draw(self) -> None:
        if self._plan is None:
            return
        grey, far_m = self.greys.value, self.distance_m
        self._small.draw(self._plan, self._near, grey=grey)
        self._svg = big_look(self._plan, self._near, grey=grey, distance_m=far_m)
        self.image.value = self._svg.encode()


class FabricNumbers(Panel):
    """Totals, and what to mind."""

    def __init__(self) -> None:
        self.totals, self.cautions = Wrapped(120), Wrapped(120)
        self._plan: Plan | None = None
        super().__init__([self.totals, self.cautions])

    def show(self, state: FabricState) -> None:
        plan = state.plan
        if plan is self._plan:
            return
        self._plan = plan
        self.totals.say(fabric_lines(plan))
        said = plan.fabric.sentences if plan.fabric else ()
        self.cautions.say([*said, *contrast_lines(plan)])


class JoinsPanel(Panel):
    """Where strands come and go, in knitting order."""

    def __init__(self) -> None:
        self.lines = Wrapped(150, close=True)
        self._plan: Plan | None = None
        super().__init__([self.lines])

    def show(self, state: FabricState) -> None:
        if state.plan is not self._plan:
            self._plan = state.plan
            self.lines.say(join_lines(state.plan))
