"""Small knitted plans for tests of the pictures."""

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from kit.blanket import Choices, choose, open_blanket
from kit.blanket.choices import Arranging, Judging, Laying, Making, Size
from kit.blanket.stash_csv import read_stash
from kit.plan import Plan, plan, plan_blanket
from kit.yarn import Gauge

DEMO = Path(__file__).parents[2] / "data" / "reading-room"
HEADER = "name,colours,grams,style,surface"
FOUR = (
    "Pale,#f0e8d8,12,,",
    "Mottled,#c0a080 60% #804020 40%,12,variegated,",
    "Mist,#90a8c0,12,,fluffy",
    "Deep,#203040,12,,",
)


SWATCH, SQUARE = Gauge(22, 30), Size(12, 15)


@lru_cache
def demo(by="family", layout="light-to-dark") -> Plan:
    return plan_blanket(choose(open_blanket(DEMO), by=by, layout=layout))


@lru_cache
def knitted(
    rows=FOUR,
    *,
    gauge=SWATCH,
    size=SQUARE,
    sections=(),
    carry=(),
    units="metric",
    name="A square",
) -> Plan:
    """A plan by value of these rows of a stash, knitted."""
    cells = "\n".join([HEADER, *(_quoted(row) for row in rows)])
    making = Making(gauge, size, sections=sections, carry=carry)
    choices = Choices(name, units, Arranging(by="value"), Laying(), Judging())
    return plan(read_stash(cells.encode()), replace(choices, making=making))


def with_ends(plan: Plan, *ends: int) -> Plan:
    """The plan with its stripes ending at these stitches; later ones are left away."""
    first, stripes = 0, []
    for stripe, last in zip(plan.fabric.stripes, ends, strict=False):
        metres = stripe.metres_each * (last - first) / (stripe.last - stripe.first)
        stripes.append(replace(stripe, first=first, last=last, metres_each=metres))
        first = last
    fabric = replace(plan.fabric, stripes=tuple(stripes))
    return replace(plan, fabric=fabric, fabric_steps=plan.fabric_steps[: len(ends) - 1])


def _quoted(row: str) -> str:
    name, colours, *rest = row.split(",")
    colours = colours.replace("% #", "%, #")
    return ",".join([name, f'"{colours}"', *rest])
