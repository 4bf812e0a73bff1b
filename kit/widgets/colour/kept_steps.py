"""Steps that are large on purpose, and count no more."""

from __future__ import annotations

import ipywidgets as widgets

from kit.blanket.keys import as_toml
from kit.plan import Plan
from kit.plan.middle import ball_jumps
from kit.widgets.colour.state import ChooseColours, ColourState
from kit.widgets.lines import WIDE, Wrapped
from kit.widgets.panel import Panel


class KeptStepsPanel(Panel):
    """The steps that break the flow, and those kept already, to be chosen among."""

    def __init__(self, choose: ChooseColours) -> None:
        self._plan: Plan | None = None
        self.accents = widgets.SelectMultiple(rows=8, layout=WIDE)
        said = Wrapped(120, bold=True)
        super().__init__([self.accents, said], said=said)
        self.on(
            self.accents,
            lambda: choose(lambda _: {"accents": as_toml(self.accents.value)}, said),
        )

    def show(self, state: ColourState) -> None:
        """The list stays as it is while a bridge is tried."""
        plan = state.plan
        if state.tried or plan is self._plan:
            return
        self._plan = plan
        names = [yarn.name for yarn in plan.design.laid.yarns]
        kept = [tuple(pair) for pair in plan.choices.judging.accents]
        first = [met.places[0] for met in ball_jumps(plan)]
        places = dict.fromkeys([*kept, *((names[k], names[k + 1]) for k in first)])
        with self.set_by_program():
            self.accents.options = [(f"{a} → {b}", (a, b)) for a, b in places]
            self.accents.value = kept
