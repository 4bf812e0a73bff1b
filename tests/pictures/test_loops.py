"""Stitches drawn one by one: in their places, in their colours, like knitting."""

from dataclasses import replace

import numpy as np
import pytest

from kit.pictures.loops import close_up
from kit.pictures.stitches import stitch_colours
from kit.yarn import Section
from tests.helpers.fabrics import FOUR, knitted, with_ends


def test_size_in_dots():
    """So many dots a stitch, and rows as high as the gauge makes them."""
    plan = knitted()
    image = close_up(plan, 5, 9, 12, px_per_stitch=20)
    stitch_cm = plan.fabric.width_cm / plan.fabric.stitches
    assert image.shape == (round(9 * (10 / 30) / stitch_cm * 20), 240, 3)


def test_sections_have_their_own_heights():
    """Denser rows are drawn lower."""
    plan = knitted(sections=(Section("moss", 10, 60), Section("plain", 20)))
    dense, plain = (close_up(plan, row, 10, 8).shape[0] for row in (1, 11))
    assert plain == pytest.approx(2 * dense, abs=1)


def test_the_same_every_time():
    """Drawn again, it is the same."""
    assert np.array_equal(close_up(knitted(), 3, 8, 9), close_up(knitted(), 3, 8, 9))


@pytest.mark.parametrize("row", [-7, 1, 45, 900])
@pytest.mark.parametrize("column", [-3, None, 25, 400])
def test_a_view_over_the_edge_is_moved_in(row, column):
    """Whatever is asked for, what is shown is fabric."""
    image = close_up(knitted(), row, 6, 7, first_column=column, px_per_stitch=8)
    assert image.shape[1] == 56
    assert np.isfinite(image).all()
    assert image.min() >= 0


def test_more_than_there_is():
    """A view larger than the fabric shows all of it."""
    plan = knitted()
    image = close_up(plan, 1, 10_000, 10_000, px_per_stitch=4)
    assert image.shape[1] == 4 * plan.fabric.stitches


def test_one_colour_is_that_colour_in_light_and_shadow():
    """Light and shadow make a colour lighter or darker and nothing else."""
    plan = knitted(("One,#336699,20,,", "Two,#336699,20,,"))
    image = close_up(plan, 4, 12, 12).reshape(-1, 3)
    own = stitch_colours(plan)[0, 0]
    light = image / own
    assert np.allclose(light, light[:, :1], rtol=1e-3)
    # On the whole a little darker than the yarn in the hand, as fabric is.
    assert 0.6 < light.mean() < 1.0
    assert np.quantile(light, 0.02) < 0.5
    assert np.quantile(light, 0.95) > 0.95


def test_every_stitch_is_a_v():
    """Left and right legs mirror each other, and stitches repeat both ways."""
    plan = knitted(("One,#888888,20,,", "Two,#888888,20,,"))
    stitch_cm = plan.fabric.width_cm / plan.fabric.stitches
    px = 30
    row_px = px * (10 / 30) / stitch_cm
    image = close_up(plan, 5, 12, 14, px_per_stitch=px)[..., 1]
    height = image.shape[0]
    middle = image[round(2 * row_px) : round(2 * row_px) + round(8 * row_px)]
    stitches = middle.reshape(len(middle), 14, px).mean(axis=1)

    def alike(one, two):
        return np.corrcoef(one.ravel(), two.ravel())[0, 1]

    # A row's height on, the mean stitch looks alike; half a row on it does not.
    step = round(row_px)
    again = alike(stitches[step:], stitches[:-step])
    half = alike(stitches[step // 2 :], stitches[: -(step // 2)])
    assert again > 0.8 > half
    # A V: its own mirror image in outline, not upside down. Light comes from the left.
    assert alike(stitches, stitches[:, ::-1]) > 0.5
    assert alike(stitches, stitches[::-1]) < alike(stitches, stitches[:, ::-1])
    assert height == round(12 * row_px)


def test_rows_are_where_they_belong():
    """Drawn stitches have, on the whole, the colours of their stripe."""
    plan = knitted(("Red,#d02020,12,,", "Red 2,#d02020,12,,", "Blue,#2040d0,30,,"))
    fabric = plan.fabric
    image = close_up(plan, 1, fabric.rows, fabric.stitches, px_per_stitch=6)
    stitches = stitch_colours(plan)
    n = fabric.rows // 9
    for k in range(9):
        low, high = k * len(image) // 9, (k + 1) * len(image) // 9
        drawn = image[low:high].mean(axis=(0, 1))
        said = stitches[k * n : (k + 1) * n].mean(axis=(0, 1))
        assert np.allclose(drawn / drawn.sum(), said / said.sum(), atol=0.06)


def test_a_column_is_where_it_belongs():
    """A join within a row is drawn where its stitch lies."""
    done, across = 20, 9
    stitches = knitted().fabric.stitches
    plan = with_ends(knitted(), done * stitches + across, 40 * stitches)
    column = stitches - across  # row 21 runs from the right
    at = min(max(column - 6, 0), plan.fabric.stitches - 12)
    image = close_up(plan, done + 1, 1, 12, first_column=at, px_per_stitch=12)
    whole = close_up(plan, done + 1, 1, plan.fabric.stitches, px_per_stitch=12)
    part = whole[:, 12 * at : 12 * (at + 12)]
    # Drawn from another corner the unevenness differs, the colours do not.
    assert np.abs(image.mean(axis=0) - part.mean(axis=0)).mean() < 0.06


def test_fluff_lies_over_the_gaps():
    """A fluffy strand lightens the gaps between stitches, a smooth one does not."""
    smooth = knitted(("One,#c8c8c8,20,,", "Two,#c8c8c8,20,,"))
    fluffy = knitted(("One,#c8c8c8,20,,fluffy", "Two,#c8c8c8,20,,fluffy"))
    dark = [np.quantile(close_up(plan, 5, 10, 10), 0.02) for plan in (smooth, fluffy)]
    assert dark[1] > 1.15 * dark[0]


def test_not_knitted_is_drawn_grey():
    """Stitches that are not there yet have no colour."""
    fabric = knitted().fabric
    end = fabric.rows * fabric.stitches - 11
    plan = with_ends(knitted(), 400, 700, end)
    left_out = slice(0, 10) if fabric.rows % 2 else slice(-10, None)
    image = close_up(plan, fabric.rows, 1, fabric.stitches, px_per_stitch=10)
    top = image[: image.shape[0] // 3].reshape(-1, fabric.stitches, 10, 3)[:, left_out]
    assert np.abs(top.max(axis=-1) - top.min(axis=-1)).mean() < 0.02


def test_without_fabric():
    """A plan of colours alone says so."""
    with pytest.raises(ValueError, match="without fabric"):
        close_up(replace(knitted(FOUR), fabric=None), 1, 2, 3)
