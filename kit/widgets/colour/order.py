"""How the yarns run: which arrangement, which way, how strictly by value."""

from __future__ import annotations

from math import inf

import ipywidgets as widgets

from kit.blanket.choices import BY_HAND, LAYOUTS
from kit.widgets.colour.state import (
    ChooseColours,
    ColourState,
    arranged_by,
    one_key,
)
from kit.widgets.lines import Wrapped
from kit.widgets.panel import STYLE, WIDE, Panel

ARRANGEMENTS = (
    ("by family", "family"),
    ("by value", "value"),
    ("smoothest", "smoothest"),
    ("by hand", BY_HAND),
)
SLACKS = [
    *((f"{slack} L*", float(slack)) for slack in range(2, 41, 2)),
    ("no rule", inf),
]


class OrderPanel(Panel):
    """`choose` is told what is to change."""

    def __init__(self, choose: ChooseColours) -> None:
        self.by = widgets.ToggleButtons(
            options=ARRANGEMENTS, description="Arranged", style=STYLE
        )
        self.way = widgets.ToggleButtons(
            options=LAYOUTS, description="Runs", style=STYLE
        )
        self.slack = widgets.SelectionSlider(
            options=SLACKS,
            value=20.0,
            description="Out of value order by",
            style=STYLE,
            layout=WIDE,
        )
        said = Wrapped(120, bold=True)
        super().__init__([self.by, self.way, self.slack, said], said=said)
        self.on(self.by, lambda: choose(arranged_by(self.by.value), said))
        self.on(self.way, lambda: choose(one_key("layout", self.way.value), said))
        self.on(
            self.slack, lambda: choose(one_key("value_slack", self.slack.value), said)
        )

    def show(self, state: ColourState) -> None:
        arranging = state.choices.arranging
        with self.set_by_program():
            self.by.value = BY_HAND if arranging.order else arranging.by
            self.way.value = state.choices.laying.layout
            self.slack.value = _nearest_slack(arranging.value_slack)
            self.slack.disabled = self.by.value != "smoothest"


def _nearest_slack(slack: float) -> float:
    """The slider's own position nearest to what the file says."""
    known = [known for _, known in SLACKS]
    return slack if slack in known else min(known, key=lambda one: abs(one - slack))
