"""How balls are drawn: shares, styles, surfaces and greys."""

from dataclasses import replace

import colour
import numpy as np
import pytest

from kit.colour import Mix, mean_lab
from kit.colour.spaces import hex_to_lab, lab_to_hex
from kit.pictures.textures import amounts, card, plain
from tests.helpers.yarns import LABEL, yarn

COLOURS = tuple(map(hex_to_lab, ("#e1d9cf", "#8f364d", "#2b644a", "#1e4673")))
STYLES = ("solid", "tonal", "variegated", "speckled", "self-striping")


def ball(style, shares=(60, 25, 15), *, surface="smooth", name="Fern Floor"):
    mix = Mix(COLOURS[: len(shares)], shares)
    return replace(yarn(name, mix), label=replace(LABEL, style=style, surface=surface))


def srgb255(dots) -> np.ndarray:
    return np.round(dots * 255).astype(int)


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("shares", [(80, 20), (86, 9, 5), (40, 30, 20, 10)])
def test_colours_have_their_shares(style, shares):
    """A swatch holds each colour by its share, and every dot adds to 1."""
    held = amounts(ball(style, shares), 156, 136)
    assert held.sum(axis=-1) == pytest.approx(1.0)
    wanted = np.array(shares) / sum(shares)
    # 0.006: colours meet within dots, and a round speck is made of few of them.
    assert held.mean(axis=(0, 1)) == pytest.approx(wanted, abs=0.006)


@pytest.mark.parametrize("style", STYLES)
def test_a_swatch_averages_to_its_yarn(style):
    """Its mean in linear light is the yarn's average colour; by colour-science."""
    one = ball(style)
    dots = plain(one, 156, 136)
    mean = colour.models.eotf_sRGB(dots).mean(axis=(0, 1))
    lab = colour.XYZ_to_Lab(colour.RGB_to_XYZ(mean, "sRGB"))
    # dE00 0.5: more than shares off by 0.006 (above) make with these colours.
    assert colour.delta_E(lab, mean_lab(one.mix), method="CIE 2000") < 0.5


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("size", [(80, 4), (80, 39), (48, 136), (1, 1)])
def test_any_size_can_be_drawn(style, size):
    """Narrow strips of long blankets too."""
    assert plain(ball(style), *size).shape == (*size, 3)


def test_styles_look_different():
    """Five ways to lay the same colours."""
    looks = [plain(ball(style), 156, 136) for style in STYLES[1:]]
    for k, look in enumerate(looks):
        assert all(np.abs(look - other).mean() > 0.02 for other in looks[:k])


def test_self_striping_has_fewer_changes_than_variegated_and_tonal_softer_ones():
    """Along the middle of the card: how often and how hard the colour changes."""

    def changes(style):
        line = plain(ball(style, (50, 50)), 156, 264)[:, ::11, 0].T.ravel()
        turned = np.diff(line > line.mean())
        return turned.sum(), np.abs(np.diff(line)).max()

    assert 2 <= changes("self-striping")[0] < changes("variegated")[0] / 2
    assert changes("tonal")[1] < changes("variegated")[1] / 2


def test_speckles_are_dots_on_the_largest_colour():
    """Most turns are base colour from end to end or broken by short specks only."""
    held = amounts(ball("speckled", (86, 9, 5)), 156, 136)[..., 0]
    longest = max(
        len(run)
        for column in (held < 0.5).T
        for run in "".join("x" if dot else " " for dot in column).split()
    )
    assert 3 <= longest <= 22  # two turns of the yarn


def test_the_same_yarn_looks_the_same():
    """Seeded by name and tag number."""
    one = ball("speckled")
    assert np.array_equal(plain(one, 60, 60), plain(ball("speckled"), 60, 60))
    for other in (replace(one, name="Fern Floor (2)"), replace(one, no=2)):
        assert not np.array_equal(plain(one, 60, 60), plain(other, 60, 60))


def test_solid_is_flat_and_exact():
    """No shading: every dot inside the edge is the colour that was typed."""
    dots = srgb255(card(yarn("Sage", hex_to_lab("#9caf88")), 156, 136))
    inside = dots[10:-10, 6:-6]
    assert (inside == (0x9C, 0xAF, 0x88)).all()


def test_greys_are_neutral_and_of_equal_lightness():
    """r = g = b, so a* = b* = 0, and L* is each colour's own; by colour-science."""
    one = ball("variegated", (40, 30, 20, 10))
    greys = srgb255(plain(one, 156, 264, grey=True))
    assert (greys == greys[..., :1]).all()
    levels, counts = np.unique(greys[..., 0], return_counts=True)
    common = levels[counts > 0.04 * greys[..., 0].size]
    drawn = sorted(
        colour.XYZ_to_Lab(colour.sRGB_to_XYZ([g / 255] * 3))[0] for g in common
    )
    # 8 bits: half a grey level is at most 0.25 L*.
    assert drawn == pytest.approx(sorted(lab[0] for lab in one.mix.labs), abs=0.25)


def test_greys_lie_where_the_colours_lie():
    """The grey twin shows the same turns."""
    one = ball("variegated", (50, 50))
    colours, greys = plain(one, 80, 136), plain(one, 80, 136, grey=True)
    dark = srgb255(colours) == tuple(bytes.fromhex(lab_to_hex(COLOURS[1])[1:]))
    dark = dark.all(axis=-1)
    assert greys[dark].max() < greys[~dark].min() + 1e-9


def test_edge_is_white_and_black():
    """Whatever the colour, a white line and a black one part it from the surround."""
    for hexed in ("#777777", "#ffffff", "#000000"):
        row = srgb255(card(yarn("Plain", hex_to_lab(hexed)), 156, 136))[78, :6, 0]
        assert row[0] < 60 and row[2] > 200


def test_fluffy_fades_at_the_edge_alone():
    """Full colour in the middle, the surround showing through near the edge."""
    pink = hex_to_lab("#e4b9c1")
    soft = replace(yarn("Tongs", pink), label=replace(LABEL, surface="fluffy"))
    smooth = yarn("Tongs", pink)
    one, two = (srgb255(card(y, 156, 136)) for y in (soft, smooth))
    assert (one[40:-40, 40:-40] == two[40:-40, 40:-40]).all()
    assert np.abs(one - two)[5:9, 10:-10].mean() > 20
    grey = [card(y, 48, 136, grey=True) for y in (soft, smooth)]
    assert np.array_equal(*grey)
