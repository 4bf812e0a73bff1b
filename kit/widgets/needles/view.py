"""What the needles desk shows: the blanket so far, balls, ranges of rows, the log."""

from __future__ import annotations

from dataclasses import replace

from kit.fabric.forecast import Forecast
from kit.fabric.ranges import Range
from kit.needles.log import Log
from kit.needles.progress import BallState, Progress
from kit.needles.status import Status
from kit.pictures.stitches import stitch_colours, stitches_png
from kit.plan import Plan
from kit.widgets.fabric.view import BLANK, fabric_svg
from kit.yarn.measures import GRAMS_PER_OUNCE, weighed_number

WHITE = 1.0  # linear
PALE = 0.30  # how much of its colour a row shows that is still to be knitted
SIDE = (330.0, 420.0)  # px: each of the two pictures side by side


def so_far_svg(standing: Status) -> str:
    """The blanket as it was knitted, what is to come paler; marks along its edges."""
    plan = as_knitted(standing.plan, standing.now)
    return _svg(plan, standing.now.knitted.row)


def side_svg(plan: Plan, row: int) -> str:
    """A plan small, what is to come paler, to stand beside another."""
    return _svg(plan, row, within=SIDE)


def _svg(plan: Plan, row: int, within: tuple[float, float] | None = None) -> str:
    fabric = plan.fabric
    if fabric is None or not fabric.rows:
        return BLANK
    image = stitch_colours(plan)
    ahead = len(image) - row  # the cast-on edge lies at the foot
    image[:ahead] = PALE * image[:ahead] + (1 - PALE) * WHITE
    size = {"within": within} if within else {}
    return fabric_svg(
        stitches_png(image), fabric, units=plan.choices.units, sharp=True, **size
    )


def as_knitted(plan: Plan, now: Progress) -> Plan:
    """The plan with its first rows as they were really knitted."""
    fabric, done = plan.fabric, now.knitted.stripes
    if fabric is None or not done:
        return plan
    last = done[-1].last
    ahead = tuple(
        replace(stripe, first=max(stripe.first, last))
        for stripe in fabric.stripes
        if stripe.last > last
    )
    return replace(plan, fabric=replace(fabric, stripes=(*done, *ahead)))


def ball_rows(now: Progress, units: str = "metric") -> list[list[str]]:
    """Balls of the plan or the log: tag, name, state, what is left with its range."""
    return [
        [str(ball.yarn.no), ball.yarn.name, ball.state, *_range(ball.left_g, units)]
        for ball in now.balls
        if ball.state is not BallState.NOT_PLANNED
    ]


def parts_line(now: Progress, name: str | None) -> str:
    """That a ball lies in several parts, of which the scale must show all; "" for one
    that does not. What an earlier part left over is a part of it too."""
    pairs = now.knitted.with_ends
    own = [(s, end) for s, end in pairs if s.part.yarn.name == name]
    lie = [s for s, end in own if end is None or s.kind == "break off"]
    if len(lie) < 2:
        return ""
    return f'"{name}" lies in {len(lie)} parts: weigh them together.'


def end_rows(now: Progress) -> list[list[str]]:
    """Strands that have not ended: tag, name, the row they are joined in, the row they
    end in, and the range of rows; one that is sure to last to the end is bound off.

    A strand to come ends as if it is joined in the row that is told: when it is not, it
    ends as much earlier or later.
    """
    rows = []
    for one in now.forecast.endings:
        strand, yarn = one.strand, one.strand.part.yarn
        ends, joined = one.ends, int(one.joins.likely) + 1
        if strand.begun is None:
            ends, joined = one.once_joined(one.joins.likely), min(joined, now.rows)
        low, high = (min(row, now.rows) for row in ends.row_numbers)
        likely = str(min(max(round(ends.likely), low), high))
        where = [likely, str(low), str(high)]
        if strand.kind == "bind off" and ends.low >= now.rows:
            where = ["bind off", "", ""]
        about = "about " if strand.begun is None else ""
        rows.append([str(yarn.no), yarn.name, f"{about}{joined}", *where])
    return rows


def log_rows(log: Log, units: str = "metric") -> list[list[str]]:
    """The log as text, a row a line, first its row in the file, as messages name it."""
    return [
        [
            str(note.number),
            str(note.date or ""),
            str(note.row),
            note.what,
            note.yarn,
            note.instead_of,
            "" if note.grams is None else weighed_number(note.grams, units),
        ]
        for note in log.notes
    ]


def better_lines(forecast: Forecast) -> list[str]:
    """What to measure better, the most helpful first, with what it leaves."""
    said = [
        f"{one.says}: that leaves {100 * one.leaves:.0f} % of the range of rows."
        for one in forecast.better
        if one.leaves < 0.9
    ]
    return said or ["No single better measurement would make the rows much surer."]


def _range(number: Range, units: str) -> list[str]:
    """Grams in whole, ounces to the hundredth: a range is wider than either."""
    per, digits = (GRAMS_PER_OUNCE, 2) if units == "imperial" else (1.0, 0)
    values = (number.likely, number.low, number.high)
    return [f"{value / per:.{digits}f}" for value in values]
