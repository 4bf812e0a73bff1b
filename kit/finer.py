"""What to measure better: which finer reading would make the rows surest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from kit.choices import Choices
from kit.fabric import Fabric
from kit.gauge import Swatch
from kit.loom import set_up
from kit.measures import mass, size
from kit.ranges import range_of, rows_at
from kit.schedule import weight_g
from kit.strand_chains import Strand, first_belief, knit_drawn
from kit.tolerance import Limits


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
    for what, says, changed, finer in _measurements(fabric, choices, limits):
        knits = knit_drawn(strands, first_belief(yarns, changed, finer), line)
        leaves = range_of(rows(knits.lasts)).width / width if width else 1.0
        found.append(Better(what, says, leaves))
    return tuple(sorted(found, key=lambda one: one.leaves))


def _measurements(
    fabric: Fabric, choices: Choices, limits: Limits
) -> Iterator[tuple[str, str, Choices, Limits]]:
    """What is measured, in words, and with what choices and limits one then draws."""
    gauge, units = choices.making.gauge, choices.units
    assert gauge is not None
    if gauge.swatch:
        own = gauge.swatch
        large = Swatch(2 * own.width_cm, 2 * own.length_cm, 4 * own.grams)
        now, then = (_as_swatch(one, units) for one in (own, large))
        says = f"Weigh a bigger swatch ({then} instead of {now})"
        yield "swatch", says, _with_swatch(choices, large), limits
    else:
        usual = _usual_swatch(fabric, choices)
        about = mass(usual.grams, units)
        wide = "8 x 8 in" if units == "imperial" else "20 x 20 cm"  # 7.9 in, rounded
        says = f"Weigh a washed swatch of {wide} (about {about})"
        yield "swatch", says, _with_swatch(choices, usual), limits
    fine = "hundredths of an ounce" if units == "imperial" else "tenths of a gram"
    says = f"Weigh the balls on a scale that shows {fine}"
    yield "scale", says, choices, replace(limits, scale_g=limits.scale_g / 10)
    says = "Knit the swatch as the blanket is knitted, so that both agree within 2 %"
    yield "gauge", says, choices, replace(limits, gauge=min(limits.gauge, 0.02))
    says = "Measure a length of each ball and weigh it, instead of trusting its label"
    yield "label", says, choices, replace(limits, label=0.0)


def _with_swatch(choices: Choices, swatch: Swatch) -> Choices:
    assert choices.making.gauge is not None
    gauge = replace(choices.making.gauge, swatch=swatch)
    return replace(choices, making=replace(choices.making, gauge=gauge))


def _usual_swatch(fabric: Fabric, choices: Choices) -> Swatch:
    """20 x 20 cm as this fabric weighs on average."""
    used_g = sum(weight_g(use.yarn, use.used_mm) for use in fabric.uses)
    area = max(fabric.width_cm * fabric.length_cm, 1e-9)
    return Swatch(20, 20, max(used_g * 400 / area, 0.1))


def _as_swatch(swatch: Swatch, units: str) -> str:
    """Its two sides, the unit once."""
    wide = size(swatch.width_cm, units).partition(" ")[0]
    return f"{wide} x {size(swatch.length_cm, units)}"
