"""Bridges: how many are put in by themselves, and which by hand, gap by gap."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from kit.arrangement.suggestions import Suggestion
from kit.blanket.choices import Kept
from kit.blanket.keys import as_toml
from kit.errors import Fault, KitError
from kit.pictures.shortlist import shortlist_svg
from kit.plan import Plan, reordered_lines
from kit.plan.remedies import bridge_lines, gap_lines
from kit.widgets.colour.state import Changes, ChooseColours, ColourState, one_key
from kit.widgets.fabric.view import BLANK
from kit.widgets.lines import Wrapped
from kit.widgets.panel import STYLE, WIDE, Panel, svg_image

NOTHING = ("nothing chosen", "")


class BridgesPanel(Panel):
    """Places that a bridge would help, and what would stand there. `choose` keeps what
    is changed; `try_out` shows a bridge that is not kept yet."""

    def __init__(self, choose: ChooseColours, try_out: ChooseColours) -> None:
        self._plan: Plan | None = None  # that the lists are of
        self._told: Plan | None = None  # that the lines are of
        self.most = widgets.IntSlider(
            1, 0, 3, description="Bridges put in", style=STYLE, layout=WIDE
        )
        self.place = widgets.Dropdown(description="Between", style=STYLE, layout=WIDE)
        self.yarn = widgets.Dropdown(description="Put in", style=STYLE, layout=WIDE)
        self.try_it, self.keep_it, self.take_out = buttons = [
            widgets.Button(description=words)
            for words in ("Try it", "Keep it", "Take bridges out")
        ]
        self.shortlist = svg_image(BLANK)
        self.lines, self.gaps = Wrapped(120), Wrapped(110)
        said = Wrapped(120, bold=True)
        lists = [self.most, self.place, self.yarn, widgets.HBox(buttons)]
        told = [widgets.HBox([self.shortlist]), said, self.lines, self.gaps]
        super().__init__([*lists, *told], said=said)
        self.on(self.most, lambda: choose(one_key("bridges", self.most.value), said))
        self.on(self.place, self._list_yarns)
        self.on(self.try_it, lambda: try_out(self._with_bridge(), said))
        self.on(self.keep_it, lambda: choose(self._with_bridge(), said))
        self.on(self.take_out, lambda: choose(without_bridges, said))

    def show(self, state: ColourState) -> None:
        """The lists stay as they are while a bridge is tried, so that it can be kept or
        another one be tried."""
        with self.set_by_program():
            self.most.value = min(state.choices.bridging.bridges, 3)
        if state.plan is not self._told:
            self._told = state.plan
            self.lines.say(bridge_lines(state.plan))
        if state.plan is not self._plan and not state.tried:
            self._plan = state.plan
            self._list_places(state.plan)

    def settle(self, plan: Plan) -> None:
        """What would help each gap; it takes a moment."""
        self.gaps.say([*gap_lines(plan), *reordered_lines(plan)])

    def _list_places(self, plan: Plan) -> None:
        suggested = plan.design.suggestions
        gaps = [_pair(one) for one in suggested]
        chosen = self.place.value
        with self.set_by_program():
            self.place.options = [
                (f"{' → '.join(_pair(one))} ({one.step:.1f})", _pair(one))
                for one in suggested
            ]
            self.place.value = chosen if chosen in gaps else next(iter(gaps), None)
        self._list_yarns()

    def _list_yarns(self) -> None:
        """The candidates for the chosen place, best first, before and after."""
        plan = self._plan
        gap = self._gap(plan) if plan else None
        candidates = gap.candidates if gap else ()
        self.yarn.options = [
            NOTHING,
            *(
                (f"{yarn.name} ({source}): leaves {step:.1f}", yarn.name)
                for yarn, source, step in candidates
            ),
        ]
        self.yarn.value = ""
        self.shortlist.value = (_shortlist(gap, plan) if plan else BLANK).encode()

    def _gap(self, plan: Plan) -> Suggestion | None:
        gaps = {_pair(one): one for one in plan.design.suggestions}
        return gaps.get(self.place.value)

    def _with_bridge(self) -> Changes:
        return with_bridge(self.yarn.value, self.place.value)


def with_bridge(name: str | None, place: tuple[str, str] | None) -> Changes:
    """One more bridge, put into a place. Those that stand in the run stay, and are the
    knitter's as they are once the strip was touched."""

    def changes(state: ColourState) -> dict[str, Any]:
        if not name or place is None:
            says = "No yarn is chosen to put in"
            raise KitError(
                Fault("no_bridge", says=says, advice="Choose one from the list.")
            )
        saved = state.choices.bridging.bridges_kept
        aside = [one for one in saved if one.yarn not in state.hand.line]
        kept = (*state.hand.kept, *aside, Kept(name, *place))
        return {"bridges_kept": as_toml(kept) or []}

    return changes


def without_bridges(_: ColourState) -> dict[str, Any]:
    """All bridges out, and none put in again by itself."""
    return {"bridges_kept": None, "bridges": 0}


def _pair(one: Suggestion) -> tuple[str, str]:
    return one.after.name, one.before.name


def _shortlist(gap: Suggestion | None, plan: Plan) -> str:
    """One gap, before, and after with each of the best few."""
    judging = plan.choices.judging
    if gap is None:
        return BLANK
    return shortlist_svg(gap, limit=judging.jump_limit, view=judging.view)
