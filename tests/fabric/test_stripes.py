"""How stripes look and measure: colours of held strands, tex, contrast, steps."""

from dataclasses import replace

import numpy as np
import pytest

from kit.blanket.choices import Judging
from kit.colour import mean_lab
from kit.colour.mixes import solid
from kit.colour.spaces import hex_to_lab
from kit.fabric.stripes import (
    VEIL,
    Stripe,
    held_mix,
    initial_mm,
    is_out_of_range,
    stripe_contrast,
    stripe_mix,
    stripe_steps,
    stripe_tex,
    visible_width,
    yarn_tex,
)
from tests.helpers.balls import DK, LACE, ball, chosen

A, B, C, D = (
    ball(name, value, 100) for name, value in zip("ABCD", (90, 70, 50, 30), strict=True)
)


def stripe(*strands, first=0, last=100, carried=(), restart=False):
    return Stripe(first, last, 20, strands, carried, 1.0, restart)


def test_rows_and_stitches_count_from_1():
    """A stripe from stitch 0 begins in row 1 at stitch 1; ends are its own stitches."""
    # By hand: rows of 20; stitches 21 to 45 are row 2, stitch 1, to row 3, stitch 5.
    one = stripe(A, B, first=20, last=45)
    assert (one.first_row, one.first_stitch) == (2, 1)
    assert (one.last_row, one.last_stitch) == (3, 5)
    assert one.rows == 1.25
    whole = stripe(A, B, first=0, last=40)
    assert (whole.first_row, whole.first_stitch) == (1, 1)
    assert (whole.last_row, whole.last_stitch) == (2, 20)


def test_tex_and_length():
    """400 m per 100 g are 250 tex; a ball's length is in whole millimetres."""
    assert yarn_tex(A) == pytest.approx(250)
    assert initial_mm(replace(A, metres=12.3456)) == 12_346
    assert initial_mm(replace(A, metres=None)) == 0


def test_strands_mix_in_linear_light():
    """Two strands side by side: the mean of XYZ, not of the hex numbers."""
    # colour-science 0.4.7: linear mean of #2a3f6f and #e0c080, D65, 2 degrees.
    import colour

    pair = "#2a3f6f", "#e0c080"
    linear = [
        colour.cctf_decoding(np.array([int(h[i : i + 2], 16) / 255 for i in (1, 3, 5)]))
        for h in pair
    ]
    space = colour.RGB_COLOURSPACES["sRGB"]
    mean_xyz = space.matrix_RGB_to_XYZ @ (np.sum(linear, axis=0) / 2)
    expected = colour.XYZ_to_Lab(mean_xyz, space.whitepoint)
    mixed = held_mix(tuple(ball(h, solid(hex_to_lab(h)), 9) for h in pair))
    # The rounded matrix of the standard against full precision (see colour's tests).
    assert mean_lab(mixed) == pytest.approx(expected, abs=0.05)


def test_shares_go_by_the_root_of_tex():
    """A strand of four times the tex shows twice as much."""
    thick, thin = ball("thick", 50, 9, per_100g=200), ball("thin", 60, 9, per_100g=800)
    assert held_mix((thick, thin)).shares == pytest.approx((2 / 3, 1 / 3))


def test_the_veil():
    """A fluffy strand shows as if half as wide again; our simple model, as stated."""
    lace = ball("lace", 50, 9, per_100g=LACE)
    fluffy = ball("fluffy", 60, 9, per_100g=LACE, surface="fluffy")
    assert VEIL == 1.5
    assert visible_width(fluffy) == pytest.approx(1.5 * visible_width(lace))
    assert held_mix((lace, fluffy)).shares == pytest.approx((0.4, 0.6))


def test_carried_strands_are_seen_and_weighed():
    """Colour, tex and contrast of a stripe are those of all its strands."""
    alone, beside = stripe(A, B), stripe(A, B, carried=(D,))
    assert stripe_mix(beside) == held_mix((A, B, D))
    assert (stripe_tex(alone), stripe_tex(beside)) == pytest.approx((500, 750))
    assert stripe_contrast(alone) < stripe_contrast(beside)
    assert stripe_contrast(stripe(A)) == 0


def test_out_of_range_by_hand():
    """400 to 725 tex and two or three strands of its own are in range."""
    making = chosen().making
    lace, dk = ball("l", 50, 9, per_100g=LACE), ball("d", 50, 9, per_100g=DK)
    fit = [stripe(A, B), stripe(A, lace, lace), stripe(dk, A)]
    out = [stripe(A), stripe(lace, lace), stripe(dk, dk), stripe(A, B, carried=(C,))]
    assert not any(is_out_of_range(one, making) for one in fit)
    assert all(is_out_of_range(one, making) for one in out)


def test_swapping_one_of_two_halves_the_step():
    """From far a grey between is nearer; in the hand half of the fabric stays."""
    choices = chosen()
    both, one = stripe(C, C), stripe(A, A)
    whole = stripe_steps([one, both], choices)[0]
    half = stripe_steps([stripe(A, A), stripe(A, C)], choices)[0]
    assert half.near == pytest.approx(whole.near / 2)


def test_jumps_count_against_the_fabrics_limit():
    """The limit is that between stripes, not that between balls."""
    choices = chosen()
    stripes = [stripe(A, B), stripe(B, D)]
    tight = replace(choices, judging=Judging(fabric_jump_limit=5, jump_limit=90))
    wide = replace(choices, judging=Judging(fabric_jump_limit=90, jump_limit=5))
    assert "large" in stripe_steps(stripes, tight)[0].reasons
    assert "large" not in stripe_steps(stripes, wide)[0].reasons


def test_accents_and_joins_do_not_count():
    """Where an accent comes or goes, a kept pair takes over, or a run starts anew."""
    loud = replace(D, role="accent")
    steps = stripe_steps([stripe(A, B), stripe(B, loud), stripe(B, C)], chosen())
    assert [step.accent for step in steps] == [True, True]
    kept = replace(chosen(), judging=Judging(accents=(("A", "D"),)))
    steps = stripe_steps([stripe(A, B), stripe(B, D), stripe(D, C)], kept)
    assert [step.accent for step in steps] == [True, False]
    steps = stripe_steps([stripe(C, D), stripe(D, A, restart=True), stripe(A, B)], kept)
    assert [step.join for step in steps] == [True, False]
    assert not steps[0].counts
    assert steps[1].counts
