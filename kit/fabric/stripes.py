"""Stripes: stretches of fabric with the same strands, and how they look and measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from kit.blanket import Choices, Yarn
from kit.blanket.choices import Making
from kit.colour import Mix, Step, blend, ciede2000, mean_lab, steps_along
from kit.fabric.strands import in_range
from kit.yarn import to_tex
from kit.yarn.tex import held_tex, strand_width_mm

VEIL = 1.5  # a fluffy strand shows as if so much wider (our simple model)


@dataclass(frozen=True, slots=True)
class Stripe:
    """One stretch of fabric with the same strands.

    Attributes
    ----------
    first : int
        Stitches knitted before it begins.
    last : int
        Stitches knitted when it ends.
    row : int
        Stitches in a row.
    strands : tuple of Yarn
        The yarns held together.
    carried : tuple of Yarn
        Yarns held along beside those that make up the fabric.
    metres_each : float
        What it takes of every strand and every carried one, in m.
    restart : bool
        Whether the next time through begins here, beside strands of the time before.
    first_row : int
        The row it begins in, counted from 1.
    first_stitch : int
        The stitch of that row, counted from 1.
    last_row : int
        The row it ends in, counted from 1.
    last_stitch : int
        The stitch of that row, counted from 1.
    rows : float
        How many rows it fills, parts of rows included.
    """

    first: int
    last: int
    row: int
    strands: tuple[Yarn, ...]
    carried: tuple[Yarn, ...]
    metres_each: float
    restart: bool = False

    def __repr__(self) -> str:
        held = " + ".join(yarn.name for yarn in self.strands + self.carried)
        return f"Stripe(rows {self.first_row} to {self.last_row}: {held})"

    @property
    def first_row(self) -> int:
        return self.first // self.row + 1

    @property
    def first_stitch(self) -> int:
        return self.first % self.row + 1

    @property
    def last_row(self) -> int:
        return (self.last - 1) // self.row + 1

    @property
    def last_stitch(self) -> int:
        return (self.last - 1) % self.row + 1

    @property
    def rows(self) -> float:
        """How many rows it fills, parts of rows included."""
        return (self.last - self.first) / self.row


def is_mirror_image(stripes: Sequence[Stripe]) -> bool:
    """Whether the same strands are held from either end, in two stripes or more."""
    held = [sorted(yarn.name for yarn in stripe.strands) for stripe in stripes]
    return len(held) > 1 and held == held[::-1]


def yarn_tex(yarn: Yarn) -> float:
    """A strand's mass per length, g/km, from its label."""
    return to_tex(yarn.label.metres_per_100g)


def initial_mm(yarn: Yarn) -> int:
    """What a ball has, in whole millimetres."""
    return round(1000 * (yarn.metres or 0))


def visible_width(yarn: Yarn) -> float:
    """How much of the face a strand takes, mm: its width, a fluffy one's veil counted
    as half as wide again. All strands are taken as lying side by side."""
    veil = VEIL if yarn.label.surface == "fluffy" else 1.0
    return strand_width_mm(yarn_tex(yarn)) * veil


@lru_cache(maxsize=20_000)
def held_mix(strands: tuple[Yarn, ...]) -> Mix:
    """Strands held together as one mix, shares by visible width."""
    return blend([s.mix for s in strands], [visible_width(s) for s in strands])


def stripe_mix(stripe: Stripe) -> Mix:
    """The colours of a stripe, carried strands included."""
    return held_mix(stripe.strands + stripe.carried)


def stripe_tex(stripe: Stripe) -> float:
    """Mass per length of all strands of a stripe together, g/km."""
    return held_tex(yarn_tex(yarn) for yarn in stripe.strands + stripe.carried)


def own_tex(stripe: Stripe) -> float:
    """The tex of a stripe's strands together, without what is carried."""
    return held_tex(yarn_tex(yarn) for yarn in stripe.strands)


def stripe_contrast(stripe: Stripe) -> float:
    """The largest step between two strands of a stripe, from far, dE00."""
    labs = [mean_lab(yarn.mix) for yarn in stripe.strands + stripe.carried]
    if len(labs) < 2:
        return 0.0
    table = ciede2000(np.array(labs)[:, None], np.array(labs)[None, :])
    return float(table.max())


def is_out_of_range(stripe: Stripe, making: Making) -> bool:
    """Whether a stripe misses the thickness asked for: the number of its own strands,
    or the tex of all, carried ones included."""
    return not in_range(stripe_tex(stripe), len(stripe.strands), making.strands)


def stripe_steps(stripes: Sequence[Stripe], choices: Choices) -> tuple[Step, ...]:
    """Steps between neighbouring stripes, jumps against the fabric's own limit.

    Where an accent yarn comes or goes, or one accent pair takes over, the step is an
    accent too; where the next time through begins it is a join.
    """
    judging = choices.judging

    def kept(one: Stripe, two: Stripe) -> bool:
        before = [yarn for yarn in one.strands if yarn not in two.strands]
        after = [yarn for yarn in two.strands if yarn not in one.strands]
        accent = any(yarn.role == "accent" for yarn in before + after)
        return accent or any(not judging.counts(a, b) for a in before for b in after)

    pairs = zip(stripes, stripes[1:], strict=False)
    return steps_along(
        [stripe_mix(stripe) for stripe in stripes],
        view=judging.view,
        limit=judging.fabric_jump_limit,
        accents={k for k, pair in enumerate(pairs) if kept(*pair)},
        joins={k - 1 for k, stripe in enumerate(stripes) if k and stripe.restart},
    )
