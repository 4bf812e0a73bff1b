"""What the fabric desk shows: the knitted picture in proportion, joins, cautions."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import numpy as np

from kit.fabric import Fabric, rows_to_knit
from kit.fabric.schedule import Entry
from kit.fabric.stripes import stripe_contrast
from kit.pictures.stitches import (
    GROUND,
    from_across,
    greys,
    has_fabric,
    heights_cm,
    in_proportion,
    stitch_colours,
    stitches_png,
)
from kit.pictures.svg import INK, Svg, drawing, image, path, rect, words_at
from kit.pictures.swatches import SURROUND
from kit.plan import Plan
from kit.plan.middle import middle_words
from kit.report.schedule_csv import ended_words, joined_words
from kit.yarn import Gauge, cast_on, counted, size
from kit.yarn.gauge import CastOn, stitch_yarn
from kit.yarn.measures import CM_PER_INCH, in_a_stitch, row_span

RIM, EDGE = 26, 20  # px: room for the marks, and beside the picture
BIG, SMALL = (600.0, 680.0), 170  # px: the most a picture takes
BLANK = drawing(1, 1, "Nothing to show")


def near_look(plan: Plan) -> np.ndarray | None:
    """The stitches' colours, which both pictures start from; None without fabric."""
    return stitch_colours(plan) if has_fabric(plan) else None


def small_look(plan: Plan, near: np.ndarray | None, *, grey: bool = False) -> bytes:
    """The blanket small, in proportion, as PNG; one grey dot without fabric."""
    if near is None or plan.fabric is None:
        return stitches_png(np.full((1, 1, 3), GROUND))
    wide, long = plan.fabric.width_cm, plan.fabric.length_cm
    per_cm = SMALL / max(wide, long)
    height, width = max(1, round(long * per_cm)), max(1, round(wide * per_cm))
    image = in_proportion(plan, near, height=height, width=width)
    return stitches_png(greys(image) if grey else image)


def big_look(
    plan: Plan,
    near: np.ndarray | None,
    *,
    grey: bool = False,
    distance_m: float = 0.0,
) -> str:
    """The blanket with marks along its edges, as SVG; blank without fabric.

    At 0 m single stitches can be told apart; farther off they blend as the eye blends
    them.
    """
    fabric, units = plan.fabric, plan.choices.units
    if near is None or fabric is None:
        return BLANK
    image = from_across(plan, distance_m) if distance_m else _as_high(plan, near)
    if grey:
        image = greys(image)
    return fabric_svg(stitches_png(image), fabric, units=units, sharp=distance_m == 0)


def _as_high(plan: Plan, stitches: np.ndarray) -> np.ndarray:
    """One dot a stitch; where rows differ in height, so many rows of dots as the lowest
    would make."""
    heights = heights_cm(plan)
    if np.ptp(heights) == 0:
        return stitches
    tall = round(float(heights.sum() / heights.min()))
    return in_proportion(plan, stitches, height=tall, width=stitches.shape[1])


def fabric_svg(
    png: bytes,
    fabric: Fabric,
    *,
    within: tuple[float, float] = BIG,
    units: str = "metric",
    sharp: bool = False,
) -> str:
    """A picture of the whole blanket as SVG, stretched to its width and length.

    It fits `within` (width, height) px. `sharp`: every dot a clean small block. Marks
    stand every 10 cm or 4 inches from the cast-on edge, which lies at the foot.
    """
    left = foot = RIM + EDGE / 2
    per_cm = min(
        (within[0] - left) / fabric.width_cm, (within[1] - foot) / fabric.length_cm
    )
    wide, tall = fabric.width_cm * per_cm, fabric.length_cm * per_cm
    how = "image-rendering:pixelated" if sharp else "image-rendering:auto"
    blanket = image(png, x=RIM, y=EDGE / 2, width=wide, height=tall, style=how)
    ground = rect(width="100%", height="100%", fill=SURROUND)
    marks, label = _marks(wide, tall, per_cm, units), "The blanket as knitted"
    size_px = round(wide + left, 1), round(tall + foot, 1)
    return drawing(*size_px, label, ground, blanket, marks, font_size=10)


def _marks(wide: float, tall: float, per_cm: float, units: str) -> Iterator[Svg]:
    """A tick every 10 cm or 4 inches up the side and along the foot, every other one
    with its figure."""
    number, step = (4, 4 * CM_PER_INCH) if units == "imperial" else (10, 10.0)
    apart, foot = step * per_cm, tall + EDGE / 2
    for k in range(int(tall / apart + 1e-9) + 1):
        y = foot - k * apart
        yield path("M", RIM - 5, y, "h", 4, stroke=INK)
        if k % 2 == 0:
            figure = f"{k * number}"
            yield words_at(figure, RIM - 7, max(y + 3, 9), text_anchor="end")
    for k in range(int(wide / apart + 1e-9) + 1):
        x = RIM + k * apart
        yield path("M", x, foot + 1, "v", 4, stroke=INK)
        if k % 2 == 0:
            yield words_at(f"{k * number}", x, foot + 16, text_anchor="middle")


# --- in words -------------------------------------------------------------------------


def cast_on_words(choice: CastOn, units: str) -> str:
    """One cast-on as a button says it.

    >>> cast_on_words(CastOn(264, 43, 120.0), "metric")
    '264 stitches, 43 repeats, 120 cm'
    """
    repeats = f", {counted(choice.repeats, 'repeat')}"
    return (
        f"{counted(choice.stitches, 'stitch')}{repeats}, {size(choice.width_cm, units)}"
    )


def gauge_lines(plan: Plan) -> list[str]:
    """The yarn in a stitch, and where it is known from."""
    making = plan.choices.making
    if making.gauge is None:
        return []
    stitch = stitch_yarn(making.gauge, making.strands.fabric_tex)
    source = (
        "estimated from the gauge, 15 % either way; a weighed swatch is surer"
        if stitch.estimated
        else "from the weighed swatch, its strands taken to be "
        f"{making.strands.fabric_tex:g} tex together"
    )
    long = in_a_stitch(stitch.length_m, plan.choices.units)
    return [f"Yarn in one stitch: {long}, {source}."]


def cast_ons(plan: Plan) -> tuple[CastOn | None, ...]:
    """One repeat fewer, the nearest and one repeat more; () without gauge and size."""
    making = plan.choices.making
    gauge: Gauge | None = making.gauge
    if gauge is None or making.size is None:
        return ()
    edges = making.size.edge_stitches
    found = cast_on(making.size.width_cm, gauge, edge_stitches=edges)
    return found.fewer, found.nearest, found.more


def join_lines(plan: Plan) -> list[str]:
    """Where strands come and go, in knitting order, with the step to the new stripe,
    and where a mirrored blanket goes back."""
    fabric = plan.fabric
    if fabric is None:
        return []
    entries = rows_to_knit(fabric, plan.choices)
    starts = [stripe.first for stripe in fabric.stripes[1:]]
    steps = dict(zip(starts, plan.fabric_steps, strict=True))
    lines = []
    for before, entry in zip((None, *entries), entries, strict=False):
        ends = before.ends if before else ()
        gone = [ended_words(change, plan.choices.units) for change in ends]
        come = [joined_words(change) for change in entry.joins]
        if gone or come:
            step = steps.get(entry.stripe.first)
            jump = ", a jump" if step and step.jump else ""
            jump = ", kept on purpose" if step and step.accent else jump
            size_words = f" (step {step.size:.1f}{jump})" if step else ""
            lines.append(f"{_place(entry)}: {'; '.join(gone + come)}{size_words}")
        if turned := middle_words(plan, entry):
            lines.append(turned)
    return lines


def _place(entry: Entry) -> str:
    stripe = entry.stripe
    at = "" if stripe.first_stitch == 1 else f", stitch {stripe.first_stitch}"
    return f"Row {stripe.first_row}{at}"


def contrast_lines(plan: Plan) -> list[str]:
    """Stripes whose strands differ by more than the limit, the worst first."""
    if plan.fabric is None:
        return []
    limit = plan.choices.making.strands.contrast
    runs = [
        (held, list(stripes))
        for held, stripes in groupby(
            plan.fabric.stripes, key=lambda s: s.strands + s.carried
        )
    ]
    over = [
        (stripe_contrast(stripes[0]), held, stripes)
        for held, stripes in runs
        if stripe_contrast(stripes[0]) > limit
    ]
    return [
        f"{row_span(stripes[0].first_row, stripes[-1].last_row).capitalize()}: strands "
        f"held together differ by {contrast:.1f}, over {limit:g}: "
        f"{' + '.join(yarn.name for yarn in held)}."
        for contrast, held, stripes in sorted(over, key=lambda one: -one[0])
    ]
