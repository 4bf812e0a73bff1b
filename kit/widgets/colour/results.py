"""What comes of the choices: from far off, the fabric, numbers, and what would help."""

from __future__ import annotations

import ipywidgets as widgets

from kit.arrangement.second_opinion import opinion_lines, second_opinion
from kit.blanket import Yarn
from kit.pictures import strip_svg
from kit.pictures.swatches import SURROUND
from kit.plan import Plan, advice_lines
from kit.plan.middle import ball_jumps
from kit.plan.remedies import FOR_STRIPES
from kit.report import flow_lines, summary
from kit.report.report import fabric_lines
from kit.widgets.colour.state import ColourState
from kit.widgets.fabric.view import near_look, small_look
from kit.widgets.lines import Wrapped
from kit.widgets.panel import Panel, svg_image

NOTHING_MOVES = "No step breaks the flow: nothing to move."
NO_MOVE_HELPS = "No move, swap or leaving out makes what breaks the flow smaller."
OPINION = "The same steps by another formula (CAM16-UCS)"


class FromFarPanel(Panel):
    """The run as it lies along the blanket, in colours and in greys."""

    def __init__(self) -> None:
        self.colours, self.greys = svg_image(), svg_image()
        self._laid: tuple[Yarn, ...] | None = None
        super().__init__([self.colours, self.greys])

    def show(self, state: ColourState) -> None:
        laid = state.laid
        if laid == self._laid:
            return
        self._laid = laid
        self.colours.value = strip_svg(laid).encode()
        self.greys.value = strip_svg(laid, grey=True, height=20).encode()


class ClothPanel(Panel):
    """The fabric small, and the yarn it takes."""

    def __init__(self) -> None:
        self._plan: Plan | None = None
        self.small = widgets.Image(format="png")
        self.small.layout = widgets.Layout(
            border=f"6px solid {SURROUND}", align_self="flex-start", flex="0 0 auto"
        )
        self.totals = Wrapped(70)
        self.totals.layout = widgets.Layout(margin="0 0 0 12px")
        super().__init__([widgets.HBox([self.small, self.totals])])

    def show(self, state: ColourState) -> None:
        """Numbers first: the picture takes longer."""
        plan = state.plan
        if plan is self._plan:
            return
        self._plan = plan
        self.totals.say(fabric_lines(plan))
        self.small.value = state.small or small_look(plan, near_look(plan))


class ColourNumbers(Panel):
    """The plan in a few lines, and where the flow breaks."""

    def __init__(self) -> None:
        self._plan: Plan | None = None
        self.lines, self.breaks = Wrapped(120), Wrapped(120, close=True)
        super().__init__([self.lines, self.breaks])

    def show(self, state: ColourState) -> None:
        if state.plan is self._plan:
            return
        self._plan = state.plan
        self.lines.say(summary(state.plan))
        self.breaks.say(flow_lines(state.plan))


class MovesPanel(Panel):
    """For each jump, what helps most. It takes a moment, so a plan must stay."""

    def __init__(self) -> None:
        self.moves = Wrapped(110)
        super().__init__([self.moves])

    def settle(self, plan: Plan) -> None:
        calm = NO_MOVE_HELPS if ball_jumps(plan) else NOTHING_MOVES
        nothing = FOR_STRIPES if plan.for_stripes else calm
        self.moves.say(advice_lines(plan) or [nothing])


class SecondPanel(Panel):
    """Steps measured by another formula; only once the fold is open, since it takes a
    second."""

    def __init__(self) -> None:
        self._plan: Plan | None = None
        self.lines = Wrapped(110)
        self.opinion = widgets.Accordion(
            [self.lines], titles=(OPINION,), selected_index=None
        )
        super().__init__([self.opinion], said=self.lines)
        self.on(self.opinion, self._look, "selected_index")

    def settle(self, plan: Plan) -> None:
        self._plan = plan
        self._look()

    def _look(self) -> None:
        if self._plan is None or self.opinion.selected_index is None:
            return
        found = second_opinion(self._plan.design, self._plan.choices.judging)
        self.lines.say(opinion_lines(found))
