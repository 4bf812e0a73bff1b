"""What would help where the flow breaks: candidates with swatches, moves, another look.

Shown beside the desk's controls; what takes longer waits until a plan is settled.
"""

from __future__ import annotations

import ipywidgets as widgets

from kit.arrangement.second_opinion import opinion_lines, second_opinion
from kit.arrangement.suggestions import Suggestion
from kit.pictures.shortlist import shortlist_svg
from kit.plan import Plan, advice_lines, reordered_lines
from kit.plan.middle import ball_jumps
from kit.plan.remedies import FOR_STRIPES, gap_lines
from kit.widgets.fabric.view import BLANK
from kit.widgets.fields import Wrapped
from kit.widgets.panel import messages_beside, svg_image

NOTHING_MOVES = "No step breaks the flow: nothing to move."
NO_MOVE_HELPS = "No move, swap or leaving out makes what breaks the flow smaller."
OPINION = "The same steps by another formula (CAM16-UCS)"


class Remedies:
    """`shortlist` and `gaps` belong beside the bridges, `moves` beside the jumps, and
    `opinion` is folded until somebody opens it."""

    def __init__(self) -> None:
        self.shortlist = svg_image(BLANK)
        self.gaps, self.moves, self.lines = Wrapped(110), Wrapped(110), Wrapped(110)
        self.opinion = widgets.Accordion(
            [self.lines], titles=(OPINION,), selected_index=None
        )
        self._plan: Plan | None = None
        told = messages_beside(self.lines)
        self.opinion.observe(told(lambda _: self._second_look()), "selected_index")

    def show_gap(self, gap: Suggestion | None, plan: Plan) -> None:
        """The short list for one gap: before, and after with each of the best few."""
        judging = plan.choices.judging
        limit, view = judging.jump_limit, judging.view
        svg = shortlist_svg(gap, limit=limit, view=view) if gap else BLANK
        self.shortlist.value = svg.encode()

    def settle(self, plan: Plan) -> None:
        """What is to be said of a plan that stays for the moment."""
        self._plan = plan
        self.gaps.say([*gap_lines(plan), *reordered_lines(plan)])
        calm = NO_MOVE_HELPS if ball_jumps(plan) else NOTHING_MOVES
        nothing = FOR_STRIPES if plan.for_stripes else calm
        self.moves.say(advice_lines(plan) or [nothing])
        self._second_look()

    def _second_look(self) -> None:
        """Steps measured again; only once the fold is open, since it takes a second."""
        if self._plan is None or self.opinion.selected_index is None:
            return
        found = second_opinion(self._plan.design, self._plan.choices.judging)
        self.lines.say(opinion_lines(found))
