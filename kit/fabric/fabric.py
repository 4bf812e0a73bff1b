"""The blanket as fabric: its stripes, what each ball gives, and where knitting stands.

Lengths are whole millimetres inside, so that kept back + used + left = had, exactly.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from kit.blanket import Yarn
from kit.blanket.choices import Making
from kit.fabric.carrying import TAIL_MM
from kit.fabric.setup import Setup
from kit.fabric.stripes import Stripe, initial_mm, own_tex
from kit.late import draws_itself
from kit.yarn.gauge import row_heights_cm
from kit.yarn.tex import grams


@dataclass(frozen=True, slots=True)
class Use:
    """Where one yarn's millimetres go. kept + used + left = had."""

    yarn: Yarn
    initial_mm: int
    kept_mm: int
    used_mm: int

    @property
    def left_mm(self) -> int:
        return self.initial_mm - self.kept_mm - self.used_mm


@dataclass(frozen=True, slots=True)
class Short:
    """What the rows missing to the wished length would take.

    Rows, cm, metres of all strands together and grams, held as in the rows there are.
    What is left of the balls in hand is not taken off: a strand needs a partner.
    """

    rows: int
    length_cm: float
    metres: float
    grams: float


@draws_itself("kit.pictures.notebook:stripes_svg")
@dataclass(frozen=True, slots=True)
class Fabric:
    """The knitted blanket: size, stripes in knitting order, yarn use, what was said.

    Attributes
    ----------
    stitches : int
        Stitches in a row.
    rows : int
        Rows in all.
    width_cm : float
        In cm.
    length_cm : float
        In cm.
    stripes : tuple of Stripe
        From the cast-on edge up.
    uses : tuple of Use
        Where each yarn's length goes, in mm.
    short : Short or None
        What is missing to the wished length, in rows, cm, m and g; None if nothing is.
    sentences : tuple of str
        What is to be told of it.
    """

    stitches: int
    rows: int
    width_cm: float
    length_cm: float
    stripes: tuple[Stripe, ...]
    uses: tuple[Use, ...]
    short: Short | None
    sentences: tuple[str, ...]

    def __repr__(self) -> str:
        return (
            f"Fabric({self.stitches} stitches x {self.rows} rows, "
            f"{len(self.stripes)} stripes)"
        )


@dataclass(frozen=True, slots=True)
class Ahead:
    """A yarn still to come: `part` of what is left of it, in which time through."""

    yarn: str
    part: float = 1.0
    time: int = 0


@dataclass(frozen=True, slots=True)
class Start:
    """Where knitting stands: rows done and the yarns on the needle, by name.

    finished  yarns that are not to be used any more: knitted up, lost, set aside
    knitted   the stripes so far; the stash then says what each ball had before them.
              Without, the stash says what is left
    ahead     what is to come along the blanket, in order, the held first; left out,
              the rest is arranged anew
    changes   keys of blanket.toml that hold otherwise from here on

    At row 0 nothing is knitted yet.
    """

    row: int = 0
    held: tuple[str, ...] = ()
    finished: tuple[str, ...] = ()
    knitted: tuple[Stripe, ...] = ()
    ahead: tuple[Ahead, ...] = ()
    changes: tuple[tuple[str, Any], ...] = ()


NOT_BEGUN = Start()


def can_be_made(yarns: Sequence[Yarn], making: Making) -> bool:
    """Whether gauge and size are given and every yarn has a length."""
    measured = all(yarn.metres is not None for yarn in yarns)
    return making.gauge is not None and making.size is not None and measured


# --- sums -----------------------------------------------------------------------------


def length_cm_of(rows: int, making: Making) -> float:
    """How long so many rows are, cm, each section with its own."""
    assert making.gauge is not None
    return float(row_heights_cm(rows, making.gauge, making.sections).sum())


def missing(
    rows: int, setup: Setup, stripes: Sequence[Stripe], making: Making
) -> Short | None:
    """What `rows` lack to the wished length; None where they reach it."""
    if setup.rows is None or rows >= setup.rows:
        return None
    done = setup.lengths.mm_at(rows * setup.stitches)
    missing_m = (setup.lengths.mm_at(setup.rows * setup.stitches) - done) / 1000
    n_strands, tex = _usual(stripes, making)
    return Short(
        rows=setup.rows - rows,
        length_cm=length_cm_of(setup.rows, making) - length_cm_of(rows, making),
        metres=missing_m * n_strands,
        grams=grams(missing_m, tex),
    )


def _usual(stripes: Sequence[Stripe], making: Making) -> tuple[float, float]:
    """Strands and tex of the stripes by length; as asked for where there are none."""
    metres = sum(stripe.metres_each for stripe in stripes)
    if not metres:
        return max(making.strands.least, 1), making.strands.fabric_tex
    n = sum(len(stripe.strands) * stripe.metres_each for stripe in stripes)
    tex = sum(own_tex(stripe) * stripe.metres_each for stripe in stripes)
    return n / metres, tex / metres


def uses_of(
    yarns: Sequence[Yarn],
    carried: Sequence[Yarn],
    stripes: Sequence[Stripe],
    kept: dict[str, int],
) -> tuple[Use, ...]:
    """Where each yarn's length goes; nothing is kept back of one not knitted."""
    used: Counter[str] = Counter()
    for stripe in stripes:
        for yarn in stripe.strands + stripe.carried:
            used[yarn.name] += round(1000 * stripe.metres_each)
    uses = []
    for yarn in dict.fromkeys((*yarns, *carried)):
        keep = kept.get(yarn.name, min(TAIL_MM, initial_mm(yarn)))
        mm = used[yarn.name]
        uses.append(Use(yarn, initial_mm(yarn), keep if mm else 0, mm))
    return tuple(uses)


def used_mm_of(stripes: Sequence[Stripe], name: str) -> int:
    """What these stripes take of the yarn of this name, mm."""
    return sum(
        round(1000 * stripe.metres_each)
        for stripe in stripes
        for yarn in stripe.strands + stripe.carried
        if yarn.name == name
    )
