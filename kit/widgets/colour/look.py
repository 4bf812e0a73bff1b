"""The run of yarns under the hands, and how it is looked at."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import ipywidgets as widgets

from kit.pictures import run_svg, strip_svg
from kit.plan import Plan
from kit.plan.middle import middle_places
from kit.widgets.colour.state import ChooseColours, ColourState, Pool, one_key
from kit.widgets.colour.strip import Act, Strip
from kit.widgets.colour.strip_rows import strip_run, strip_yarns
from kit.widgets.lines import WIDE, Lines, Wrapped, messages_beside
from kit.widgets.panel import Panel


class ColourLook(Panel):
    """The strip with two sliders. `act` is told what hands do to the strip, `choose`
    what else is to change; what the strip says of acts stands in a line of its own."""

    def __init__(
        self, act: Callable[[Act, Lines], None], choose: ChooseColours
    ) -> None:
        said = Wrapped(120, bold=True)
        calm = messages_beside(_StripLine(self))
        self.strip = Strip(calm(lambda one: act(one, said)))
        self.view = _slider("In the hand … across the room", 0, 1, 0.05)
        self.jump_limit = _slider("A jump is over", 5, 60, 1)
        self._pool: Pool | None = None
        self._plan: Plan | None = None
        sliders = [self.view, self.jump_limit]
        super().__init__([self.strip, *sliders, said], self._still, said=said)
        self.on(self.view, lambda: choose(one_key("view", self.view.value), said))
        self.on(
            self.jump_limit,
            lambda: choose(one_key("jump_limit", self.jump_limit.value), said),
        )

    def show(self, state: ColourState) -> None:
        """The strip and its numbers in one message; then the sliders."""
        shown = strip_run(state)
        if state.said is not None:
            shown["sentences"] = state.said
        if state.pool is not self._pool:
            shown["yarns"] = strip_yarns(state.pool)
            shown["edition"] = self.strip.edition + 1
        self._pool, self._plan = state.pool, state.plan
        self.strip.show(**shown)
        judging = state.choices.judging
        with self.set_by_program():
            _put(self.view, judging.view)
            _put(self.jump_limit, judging.jump_limit)

    def tell(self, words: str) -> None:
        """What is being worked out, "" for nothing."""
        if words != self.strip.busy:
            self.strip.show(busy=words)

    def _still(self) -> str:
        """The run as a picture for whoever has no kernel."""
        if self._plan is None:
            return strip_svg(())
        design, limit = self._plan.design, self._plan.choices.judging.jump_limit
        return run_svg(design, limit=limit, turns=middle_places(self._plan))


class _StripLine(Lines):
    """The strip's own line, for what could not be done."""

    def __init__(self, panel: ColourLook) -> None:
        super().__init__()
        self._panel = panel

    def say(self, lines: Iterable[str]) -> None:
        self._panel.strip.show(sentences=" ".join(lines))


def _put(slider: widgets.FloatSlider, value: float) -> None:
    """Set a slider that stands elsewhere; what a page sends is off by a little."""
    if abs(slider.value - value) > 1e-6:
        slider.value = value


def _slider(words: str, low: float, high: float, step: float) -> widgets.FloatSlider:
    return widgets.FloatSlider(
        low,
        min=low,
        max=high,
        step=step,
        description=words,
        style={"description_width": "210px"},
        layout=WIDE,
        readout_format=".2f" if high <= 1 else ".0f",
    )
