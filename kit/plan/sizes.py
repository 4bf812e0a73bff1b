"""The same design at other sizes: stitches, rows, and yarn of each weight class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kit.blanket.choices import Making
from kit.errors import KitError
from kit.fabric import Fabric
from kit.fabric.schedule import weight_g
from kit.fabric.setup import BIND_OFF_ROWS, CAST_ON_ROWS
from kit.fabric.tolerance import buying_margin
from kit.yarn import cast_on
from kit.yarn.gauge import fabric_m, row_heights_cm, rows_for, stitch_yarn

# Name, width and length in cm: our own plain numbers, common practice, no source.
SIZES = (
    ("pram cover", 60.0, 80.0),
    ("lap", 90.0, 120.0),
    ("sofa", 130.0, 180.0),
    ("single", 160.0, 220.0),
    ("double", 220.0, 240.0),
)
OWN = "this blanket"


@dataclass(frozen=True, slots=True)
class WeightYarn:
    """How much yarn of one weight class a size takes, in metres and grams."""

    weight: str
    metres: float
    grams: float


@dataclass(frozen=True, slots=True)
class SizeRow:
    """One size: stitches, rows, what it measures in cm, and the yarn for it.

    `margin`: by what share more is to be bought, so that it suffices in 95 of 100.
    """

    name: str
    stitches: int
    rows: int
    width_cm: float
    length_cm: float
    yarn: tuple[WeightYarn, ...]
    margin: float

    @property
    def metres(self) -> float:
        return sum(one.metres for one in self.yarn)

    @property
    def grams(self) -> float:
        return sum(one.grams for one in self.yarn)

    @property
    def buy_grams(self) -> float:
        return self.grams * (1 + self.margin)

    @property
    def buy_metres(self) -> float:
        return self.metres * (1 + self.margin)


def sizes_table(
    fabric: Fabric,
    making: Making,
    own: Sequence[tuple[str, float, float]] = (),
) -> tuple[SizeRow, ...]:
    """This blanket as planned, then the plain sizes and `own` (name, width_cm,
    length_cm).

    Yarn of each weight class in the shares this blanket uses, cast-on and bind-off in,
    tails and swatch not. A size too narrow for one repeat is left out.
    """
    if not fabric.stripes or making.gauge is None or making.size is None:
        return ()
    per_m = _yarn_per_metre(fabric)
    measured = fabric.stitches, fabric.rows, fabric.width_cm, fabric.length_cm
    rows = [_row(OWN, *measured, making, per_m)]
    for name, width_cm, length_cm in (*SIZES, *own):
        edges = making.size.edge_stitches
        try:
            chosen = cast_on(width_cm, making.gauge, edge_stitches=edges).nearest
        except KitError:
            continue
        n_rows = rows_for(length_cm, making.gauge, making.sections)
        long = float(row_heights_cm(n_rows, making.gauge, making.sections).sum())
        measured = chosen.stitches, n_rows, chosen.width_cm, long
        rows.append(_row(name, *measured, making, per_m))
    return tuple(rows)


def _yarn_per_metre(fabric: Fabric) -> tuple[WeightYarn, ...]:
    """Of each weight class, what goes into one metre of the strands held together."""
    held_mm = sum(1000 * stripe.metres_each for stripe in fabric.stripes)
    used: dict[str, tuple[float, float]] = {}
    for use in fabric.uses:
        weight = use.yarn.label.weight
        metres, weighs = used.get(weight, (0.0, 0.0))
        weighs += weight_g(use.yarn, use.used_mm)
        used[weight] = metres + use.used_mm / 1000, weighs
    ranked = sorted(used.items(), key=lambda item: (-item[1][1], item[0]))
    return tuple(
        WeightYarn(weight, 1000 * metres / held_mm, 1000 * weighs / held_mm)
        for weight, (metres, weighs) in ranked
        if metres
    )


def _row(
    name: str,
    stitches: int,
    rows: int,
    width_cm: float,
    length_cm: float,
    making: Making,
    per_m: Sequence[WeightYarn],
) -> SizeRow:
    assert making.gauge is not None
    stitch_m = stitch_yarn(making.gauge, making.strands.fabric_tex).length_m
    held_m = fabric_m(stitch_m, stitches, rows, making.sections)
    held_m += stitch_m * stitches * (CAST_ON_ROWS + BIND_OFF_ROWS)
    yarn = tuple(
        WeightYarn(one.weight, one.metres * held_m, one.grams * held_m) for one in per_m
    )
    margin = buying_margin(making)
    return SizeRow(name, stitches, rows, width_cm, length_cm, yarn, margin)
