"""The fabric as stitches: right amounts, right places, the same every time."""

from dataclasses import replace
from io import BytesIO

import colour
import numpy as np
import pytest
from PIL import Image

from kit.blanket.choices import Carry
from kit.colour import ciede2000, mean_lab
from kit.colour.spaces import (
    LINEAR_TO_XYZ,
    lab_to_linear,
    linear_to_lab,
    linear_to_srgb1,
)
from kit.fabric.stripes import VEIL, held_mix, stripe_mix
from kit.pictures.stitches import (
    GROUND,
    Held,
    from_across,
    greys,
    has_fabric,
    held,
    held_along,
    in_proportion,
    srgb255,
    stitch_colours,
    stitches_png,
)
from kit.yarn import Section
from tests.helpers.fabrics import FOUR, demo, knitted, with_ends

LAYOUTS = [
    ("family", "light-to-dark"),
    ("value", "dark-to-light"),
    ("value", "mirrored"),
]
TWO = ("White,#ffffff,12,,", "Black,#000000,12,,")


def image_of(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data))


def in_knitting_order(seen: np.ndarray) -> np.ndarray:
    """Stitches one after the other again: the reverse of how rows lie, by hand."""
    rows = []
    for k, row in enumerate(seen[::-1]):
        rows.append(row[::-1] if k % 2 == 0 else row)
    return np.concatenate(rows)


@pytest.mark.parametrize(("by", "layout"), LAYOUTS)
def test_a_stripe_averages_to_its_mix(by, layout):
    """All stitches of a stripe together have the colour the plan says."""
    plan = demo(by, layout)
    along = in_knitting_order(stitch_colours(plan))
    for stripe in plan.fabric.stripes:
        if stripe.rows < 4:
            continue
        lab = linear_to_lab(along[stripe.first : stripe.last].mean(axis=0))
        said = np.array(mean_lab(stripe_mix(stripe)))
        # Drawn by lot over at least 1056 stitches; measured: 2.6 / sqrt(rows) at most.
        assert float(ciede2000(lab, said)) < 4 / stripe.rows**0.5


def test_turning_round_each_strand_shows_its_share():
    """Over a whole turn each strand has the share that the mix gives it, exactly."""
    for row in ((0.5, 0.5), (0.2, 0.8), (0.5, 0.3, 0.2)):
        share = np.array(row)
        veil = share * [1 / 3, *[0] * (len(row) - 1)]
        core = (share - veil) / (1 - veil.sum())
        turned = np.linspace(0, 1, 721)
        strands = Held(np.zeros((720, len(row), 3)), turned, core, veil)
        facing = strands.facing()
        assert np.allclose(facing.sum(axis=1), 1)
        assert facing.min() >= 0
        assert np.allclose(facing.mean(axis=0), share, atol=1e-9)


def test_marl_is_mixed_stitch_by_stitch():
    """Some stitches show one strand alone, some the other, most something between."""
    seen = stitch_colours(knitted(TWO))[..., 1]
    assert np.quantile(seen, 0.05) < 0.1
    assert np.quantile(seen, 0.95) > 0.9
    # Neither a checkerboard nor stripes: neighbours in a row are related, rows are not.
    beside = np.corrcoef(seen[:, 1:].ravel(), seen[:, :-1].ravel())[0, 1]
    above = np.corrcoef(seen[1:].ravel(), seen[:-1].ravel())[0, 1]
    assert 0.1 < beside < 0.8
    assert abs(above) < 0.2


def test_a_fluffy_strand_is_a_veil_over_every_stitch():
    """Its fluff shows everywhere, and on average it has the share of its mix."""
    plan = knitted()
    stripe = next(s for s in plan.fabric.stripes if len(s.strands) == 2)
    assert [y.label.surface for y in stripe.strands] == ["smooth", "fluffy"]
    facing = held(stripe, 0.0).facing()
    # Equal tex: 1 part smooth, VEIL parts fluffy, of which VEIL - 1 are veil.
    assert facing[:, 1].min() >= (VEIL - 1) / (1 + VEIL) - 1e-9
    assert facing[:, 1].min() == pytest.approx((VEIL - 1) / (1 + VEIL), abs=0.02)
    assert facing[:, 1].mean() == pytest.approx(VEIL / (1 + VEIL), abs=0.05)


ROW_AND_STITCH = ((21, 9), (20, 7))


@pytest.mark.parametrize("even", [False, True])
def test_rows_lie_as_they_are_knitted(even):
    """Row 1 is at the foot and runs from the right; row 2 from the left."""
    row, across = ROW_AND_STITCH[even]
    stitches = knitted().fabric.stitches
    plan = with_ends(knitted(), row * stitches + across, 40 * stitches)
    fabric, seen = plan.fabric, stitch_colours(plan)
    assert seen.shape == (fabric.rows, fabric.stitches, 3)
    second = fabric.stripes[1]
    only = shown_of(plan, second.strands[1].name)
    assert np.all(stitch_colours(plan)[only > 0] != GROUND)
    line = only[fabric.rows - 1 - row]
    new = line[::-1][across:] if row % 2 == 0 else line[across:]
    old = line[::-1][:across] if row % 2 == 0 else line[:across]
    assert new.max() > 0
    assert old.max() == 0
    assert only[fabric.rows - row :].max() == 0  # nothing of it below


def shown_of(plan, name):
    """How much of one yarn every stitch shows, by painting all others black."""
    along = np.zeros(plan.fabric.rows * plan.fabric.stitches)
    for stripe, strands in held_along(plan.fabric):
        names = [yarn.name for yarn in stripe.strands + stripe.carried]
        if name in names:
            facing = strands.facing()[:, names.index(name)]
            along[stripe.first : stripe.last] = facing
    rows = along.reshape(plan.fabric.rows, plan.fabric.stitches)
    flipped = [r[::-1] if k % 2 == 0 else r for k, r in enumerate(rows)]
    return np.array(flipped[::-1])


def test_a_run_of_colour_goes_on_into_the_next_stripe():
    """Where one of two strands changes, the other's colours run on undisturbed."""
    plan = knitted()
    stripe = plan.fabric.stripes[0]
    n, metres = (stripe.last - stripe.first) // 3, stripe.metres_each
    part = n / (stripe.last - stripe.first)
    one = replace(stripe, last=stripe.first + n, metres_each=metres * part)
    two = replace(stripe, first=one.last, metres_each=metres * (1 - part))
    whole = held(stripe, 2.0).colours
    apart = [held(one, 2.0).colours, held(two, 2.0 + metres * part).colours]
    assert np.allclose(np.concatenate(apart), whole, atol=1e-9)


def test_stripes_further_up_lie_further_along_the_strands():
    """Each stripe's colours begin where the metres below it end."""
    plan, at_m = demo(), 0.0
    for stripe, strands in held_along(plan.fabric):
        assert np.array_equal(strands.colours, held(stripe, at_m).colours)
        at_m += stripe.metres_each


def test_only_the_stripes_of_some_rows():
    """Asked for a few rows, the stripes there come with the same colours and turns."""
    fabric = demo().fabric
    some = list(held_along(fabric, rows=(100, 130)))
    everything = dict(held_along(fabric))
    assert some[0][0].first_row <= 100
    assert some[-1][0].last_row >= 130
    assert len(some) < 8
    for stripe, strands in some:
        assert np.array_equal(strands.blended(), everything[stripe].blended())


def test_carried_strands_are_strands():
    """A carried yarn shows among the others, by its visible width."""
    plan = knitted(
        (*FOUR, "Thread,#ff0000,30,,"), carry=(Carry("Thread", rows=(5, 20)),)
    )
    carried = [s for s in plan.fabric.stripes if s.carried]
    assert carried
    for stripe in carried:
        strands = held(stripe, 0.0)
        assert strands.colours.shape[1] == len(stripe.strands) + 1
        mix = held_mix(stripe.strands + stripe.carried)
        seen, said = strands.blended().mean(axis=0), np.array(mean_lab(mix))
        assert float(ciede2000(linear_to_lab(seen), said)) < 4  # few stitches


def test_the_same_blanket_looks_the_same():
    """Twice drawn is the same, byte for byte; another name is another draw."""
    assert picture(knitted()) == picture(knitted.__wrapped__())
    renamed = ("Other,#f0e8d8,12,,", *FOUR[1:])
    assert picture(knitted()) != picture(knitted(renamed))


def test_two_pieces_a_stitch():
    """Legs of a stitch average near to the stitch, and there are twice as many."""
    plan = knitted()
    legs, whole = stitch_colours(plan, pieces=2), stitch_colours(plan)
    assert legs.shape == (whole.shape[0], 2 * whole.shape[1], 3)
    pairs = legs.reshape(*whole.shape[:2], 2, 3).mean(axis=2)
    assert np.abs(pairs - whole).mean() < 0.02


def test_greys_have_the_value_of_the_colours():
    """A colour and its grey have the same L* by colour-science, and the grey no hue."""
    seen = stitch_colours(demo())[::9, ::9].reshape(-1, 3).astype(float)
    grey = greys(seen)
    assert np.array_equal(grey[:, 0], grey[:, 1])
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    labs = [colour.XYZ_to_Lab(rgb @ LINEAR_TO_XYZ.T, white) for rgb in (seen, grey)]
    assert np.allclose(labs[0][:, 0], labs[1][:, 0], atol=0.01)


def test_encoding():
    """Every step of linear light comes out as the nearest of 256, within one."""
    linear = np.linspace(-0.1, 1.1, 50_001)
    exact = 255 * linear_to_srgb1(np.clip(linear, 0, 1))
    assert np.abs(srgb255(linear) - exact).max() < 0.75
    steps = np.arange(256) / 255
    back = np.where(steps <= 0.04045, steps / 12.92, ((steps + 0.055) / 1.055) ** 2.4)
    assert np.array_equal(srgb255(back), np.arange(256))


def picture(plan, *, grey=False) -> bytes:
    stitches = stitch_colours(plan)
    return stitches_png(greys(stitches) if grey else stitches)


def test_one_pixel_a_stitch():
    """As PNG in sRGB; in greys without colour."""
    plan = knitted()
    image = image_of(picture(plan))
    assert image.mode == "RGB"
    assert image.size == (plan.fabric.stitches, plan.fabric.rows)
    assert np.array_equal(np.asarray(image), srgb255(stitch_colours(plan)))
    grey = np.asarray(image_of(picture(plan, grey=True)))
    assert np.all(grey == grey[..., :1])


@pytest.mark.parametrize("shape", [(7, 5), (45, 26), (90, 104), (131, 60)])
def test_no_light_is_lost_in_proportion(shape):
    """Made larger or smaller, the blanket keeps its mean colour."""
    plan = knitted()
    stitches = stitch_colours(plan)
    image = in_proportion(plan, stitches, height=shape[0], width=shape[1])
    assert image.shape == (*shape, 3)
    assert np.allclose(image.mean(axis=(0, 1)), stitches.mean(axis=(0, 1)), atol=1e-6)


def test_dense_sections_are_lower():
    """Rows of a denser section take less of the height."""
    sections = (Section("moss", 10, 60), Section("plain", 20))
    plan = knitted(sections=sections)
    rows = plan.fabric.rows
    marked = np.zeros((rows, 4, 3))
    marked[::-1][:10] = 1.0  # rows 1 to 10
    height = 10 * round(plan.fabric.length_cm)
    image = in_proportion(plan, marked, height=height, width=4)
    # 10 rows at 60 rows per 10 cm are 10/6 cm.
    assert image[..., 0].sum() / 4 / 10 == pytest.approx(10 / 6, rel=0.02)
    assert np.allclose(image[-1], 1.0)


def test_from_across_keeps_the_mean_and_calms():
    """Farther off, stitches run together; light is only moved about."""
    plan = demo()
    near = in_proportion(plan, stitch_colours(plan), height=450, width=360)
    three, thirty = from_across(plan, 3.0), from_across(plan, 30.0)
    assert three.shape == near.shape
    # Clipping to what can be shown costs less than half a step of 256.
    assert np.allclose(three.mean(axis=(0, 1)), near.mean(axis=(0, 1)), atol=0.002)

    def busy(image):
        return np.abs(np.diff(image[..., 1], axis=1)).mean()

    assert busy(near) > busy(three) > 2 * busy(thirty)


def test_from_across_hardly_depends_on_the_dots():
    """A finer picture of the same fabric looks the same from the same distance."""
    plan = knitted()
    fine = from_across(plan, 3.0, width=120)
    coarse = from_across(plan, 3.0, width=60)
    shape = (coarse.shape[0], fine.shape[0] // coarse.shape[0], 60, 2, 3)
    together = fine[: shape[0] * shape[1]].reshape(shape).mean(axis=(1, 3))
    assert np.abs(together - coarse).mean() < 0.02


def test_what_is_not_knitted_is_neutral_grey():
    """The rest of a last row that is not full stays grey, as is all without yarn."""
    plan = with_ends(knitted(), 400, 700, 1000)
    along = in_knitting_order(stitch_colours(plan))
    assert np.allclose(along[1000:], GROUND)
    assert not np.any(np.isclose(along[:1000], GROUND, atol=1e-6).all(axis=1))
    assert np.asarray(srgb255(np.array(GROUND))) == 0x77


def test_a_solid_blanket_has_its_own_colour():
    """Two strands of one colour: every stitch is that colour."""
    plan = knitted(("One,#336699,20,,", "Two,#336699,20,,"))
    lab = plan.stash.yarns[0].mix.labs[0]
    assert np.allclose(stitch_colours(plan), lab_to_linear(np.array(lab)), atol=1e-6)


def test_without_fabric_there_is_nothing_to_see():
    """A plan of colours alone says so instead of drawing."""
    plan = replace(demo(), fabric=None)
    assert not has_fabric(plan)
    with pytest.raises(ValueError, match="without fabric"):
        stitch_colours(plan)
