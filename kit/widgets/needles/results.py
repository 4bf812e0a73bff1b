"""Where it all leads: the blanket so far, the balls, ends to come, the log."""

from __future__ import annotations

import ipywidgets as widgets

from kit.fabric import forecast_fabric
from kit.needles.status import Status
from kit.widgets.fields import WEIGHTS
from kit.widgets.lines import Wrapped
from kit.widgets.needles.view import (
    ball_rows,
    better_lines,
    end_rows,
    log_rows,
    so_far_svg,
)
from kit.widgets.panel import Panel, svg_image
from kit.widgets.plain_table import PlainTable


class NowPanel(Panel):
    """The blanket so far, what is to come paler."""

    def __init__(self) -> None:
        self.svg = ""
        self.picture = svg_image()
        super().__init__([widgets.HBox([self.picture])], lambda: self.svg)

    def show(self, status: Status) -> None:
        self.svg = so_far_svg(status)
        self.picture.value = self.svg.encode()


class BallsPanel(Panel):
    """Every ball, with what is left of it."""

    def __init__(self) -> None:
        self.table = PlainTable(
            caption="Every ball as it is now believed to be",
            columns=[],
            numbers=[0, 3, 4, 5],
        )
        super().__init__([self.table])

    def show(self, status: Status) -> None:
        units = status.blanket.choices.units
        left = f"left, {WEIGHTS[units][0]}"
        self.table.columns = ["no", "yarn", "now", left, "between", "and"]
        self.table.rows = ball_rows(status.now, units)


class SurePanel(Panel):
    """Where strands are likely to end, and what to measure better."""

    def __init__(self) -> None:
        self.lines = Wrapped(120)
        self.table = PlainTable(
            caption="Where strands are likely to end; one to come, if it is joined as "
            "told: later, it ends as much later",
            columns=["no", "yarn", "joined in row", "ends in row", "between", "and"],
            numbers=[0, 2, 3, 4, 5],
        )
        super().__init__([self.lines, self.table])

    def show(self, status: Status) -> None:
        self.table.rows = end_rows(status.now)
        assert status.plan.fabric is not None
        forecast = forecast_fabric(status.plan.fabric, status.blanket.choices)
        self.lines.say(better_lines(forecast))


class LogPanel(Panel):
    """knitted.csv as it stands."""

    def __init__(self) -> None:
        self.table = PlainTable(
            caption="knitted.csv, by row of the blanket",
            columns=[],
            numbers=[0, 2, 6],
        )
        super().__init__([self.table])

    def show(self, status: Status) -> None:
        units = status.blanket.choices.units
        left = f"left, {WEIGHTS[units][0]}"
        columns = ["file row", "date", "row", "what", "yarn", "instead of"]
        self.table.columns = [*columns, left]
        self.table.rows = log_rows(status.log, units)
