"""Lengths and weights of a fabric: what each ball gives, and what rows are missing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from kit.blanket import Yarn
from kit.blanket.choices import Making
from kit.fabric.carrying import TAIL_MM
from kit.fabric.fabric import Short, Use
from kit.fabric.setup import Loom
from kit.fabric.stripes import Stripe, initial_mm, yarn_tex
from kit.yarn.gauge import row_heights_cm
from kit.yarn.yardage import grams, held_tex


def length_cm_of(rows: int, making: Making) -> float:
    """How long so many rows are, cm, each section with its own."""
    assert making.gauge is not None
    return float(row_heights_cm(rows, making.gauge, making.sections).sum())


def missing(
    rows: int, loom: Loom, stripes: Sequence[Stripe], making: Making
) -> Short | None:
    """What `rows` lack to the wished length; None where they reach it."""
    if loom.rows is None or rows >= loom.rows:
        return None
    done = loom.line.mm_at(rows * loom.stitches)
    missing_m = (loom.line.mm_at(loom.rows * loom.stitches) - done) / 1000
    n_strands, tex = _usual(stripes, making)
    return Short(
        rows=loom.rows - rows,
        length_cm=length_cm_of(loom.rows, making) - length_cm_of(rows, making),
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


def own_tex(stripe: Stripe) -> float:
    """The tex of a stripe's strands together, without what is carried."""
    return held_tex(yarn_tex(yarn) for yarn in stripe.strands)
