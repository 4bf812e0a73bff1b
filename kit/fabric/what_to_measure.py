"""What to measure better: which finer reading would make the rows surest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from kit.blanket import Choices
from kit.fabric.fabric import Fabric
from kit.fabric.ranges import range_of, rows_at
from kit.fabric.schedule import weight_g
from kit.fabric.setup import set_up
from kit.fabric.strand_chains import Strand, first_belief, knit_drawn
from kit.fabric.tolerance import Limits
from kit.yarn import Swatch, mass, size


@dataclass(frozen=True, slots=True)
class Better:
    """A better measurement, and what of the range of rows it leaves (1: no use)."""

    what: str
    says: str
    leaves: float


def finer(
    fabric: Fabric,
    choices: Choices,
    strands: Sequence[Strand],
    width: float,
    limits: Limits,
) -> tuple[Better, ...]:
    """The range of rows left by each better measurement, the most helpful first."""
    yarns = [use.yarn for use in fabric.uses]
    line = set_up(choices.making).line
    rows = rows_at(line, fabric.rows)
    found = []
    for what, says, changed, of_pace, of_balls in _measurements(
        fabric, choices, limits
    ):
        belief = first_belief(yarns, changed, of_balls, of_pace=of_pace)
        knits = knit_drawn(strands, belief, line)
        leaves = range_of(rows(knits.lasts)).width / width if width else 1.0
        found.append(Better(what, says, leaves))
    return tuple(sorted(found, key=lambda one: one.leaves))


def _measurements(
    fabric: Fabric, choices: Choices, limits: Limits
) -> Iterator[tuple[str, str, Choices, Limits, Limits]]:
    """What is measured, in words, and with what choices and limits, of the pace and of
    the balls, one then draws.

    Not a piece of each ball, measured and weighed: 50 m on a scale of 1 g say no more
    than a label does.
    """
    gauge, units = choices.making.gauge, choices.units
    assert gauge is not None
    fine = "hundredths of an ounce" if units == "imperial" else "tenths of a gram"
    on_finer = replace(limits, scale_g=limits.scale_g / 10)
    if gauge.swatch:
        own = gauge.swatch
        large = Swatch(2 * own.width_cm, 2 * own.length_cm, 4 * own.grams)
        now, then = (_as_swatch(one, units) for one in (own, large))
        says = f"Weigh a bigger swatch ({then} instead of {now})"
        yield "swatch", says, _with_swatch(choices, large), limits, limits
        says = f"Weigh the swatch on a scale that shows {fine}"
        yield "swatch's scale", says, choices, on_finer, limits
    else:
        usual = _usual_swatch(fabric)
        wide, side_cm = (
            ("8 x 8 in", 20.32) if units == "imperial" else ("20 x 20 cm", 20)
        )
        about = mass(usual.grams * (side_cm / 20) ** 2, units)  # else as good as 20 cm
        says = f"Weigh a washed swatch of {wide} (about {about})"
        yield "swatch", says, _with_swatch(choices, usual), limits, limits
    says = f"Weigh the balls on a scale that shows {fine}"
    yield "scale", says, choices, limits, on_finer
    says = "Knit the swatch as the blanket is knitted, so that both agree within 2 %"
    surer = replace(limits, gauge=min(limits.gauge, 0.02))
    yield "gauge", says, choices, surer, limits


def _with_swatch(choices: Choices, swatch: Swatch) -> Choices:
    assert choices.making.gauge is not None
    gauge = replace(choices.making.gauge, swatch=swatch)
    return replace(choices, making=replace(choices.making, gauge=gauge))


def _usual_swatch(fabric: Fabric) -> Swatch:
    """20 x 20 cm as this fabric weighs on average."""
    used_g = sum(weight_g(use.yarn, use.used_mm) for use in fabric.uses)
    area = max(fabric.width_cm * fabric.length_cm, 1e-9)
    return Swatch(20, 20, max(used_g * 400 / area, 0.1))


def _as_swatch(swatch: Swatch, units: str) -> str:
    """Its two sides, the unit once."""
    wide = size(swatch.width_cm, units).partition(" ")[0]
    return f"{wide} x {size(swatch.length_cm, units)}"
