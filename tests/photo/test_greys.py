"""greys: true and naive greys of a photo, and a swatch beside its prediction."""

from functools import lru_cache
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from kit.colour import Mix, ciede2000
from kit.colour.mixes import solid
from kit.colour.spaces import hex_to_lab, lab_to_linear, linear_to_lab, srgb1_to_linear
from kit.photo.greys import (
    LINE,
    compare_swatch,
    grey_pictures,
    naive_grey,
    true_grey,
)
from kit.photo.image import Photo, srgb255_to_linear
from kit.photo.regions import Region


@lru_cache
def two_yarns():
    """A photo of a red and a green that the quick way puts in the wrong order."""
    pixels = np.zeros((300, 400, 3), np.uint8)
    pixels[:, :200], pixels[:, 200:] = (220, 40, 60), (40, 120, 70)
    regions = (
        Region("Poppy", "circle", 100, 150, 120, 120),
        Region("\N{BALL OF YARN}", "circle", 300, 150, 120, 120),
    )
    return Photo(pixels, (400, 300)), regions


@lru_cache
def both_greys():
    return grey_pictures(*two_yarns())


def test_true_greys_keep_lightness():
    """The grey of a colour has the colour's own L*, for colours all over sRGB."""
    linear = np.random.default_rng(0).random((200, 3))
    grey = srgb1_to_linear(true_grey(linear))[:, None].repeat(3, axis=1)
    assert linear_to_lab(grey)[:, 0] == pytest.approx(linear_to_lab(linear)[:, 0])


def test_naive_greys_are_the_luma_of_bt601():
    """Encoded 0.299 R + 0.587 G + 0.114 B, as another library makes it."""
    pixels = np.random.default_rng(1).integers(0, 256, (40, 40, 3)).astype(np.uint8)
    wanted = np.asarray(Image.fromarray(pixels).convert("L"))  # Pillow: ITU-R 601-2
    assert np.abs(255 * naive_grey(srgb255_to_linear(pixels)) - wanted).max() < 0.6


def grey_values(lab):
    """L* of a colour, and L* of the grey that the naive way makes of it."""
    grey = naive_grey(np.clip(lab_to_linear(np.array(lab)), 0, 1))
    return lab[0], linear_to_lab(srgb1_to_linear(np.full(3, grey)))[0]


def test_grey_values():
    """Pure blue: L* 32.30 (CIELAB of sRGB blue); naively #1d1d1d, L* 10.7."""
    true, naive = grey_values(hex_to_lab("#0000ff"))
    assert true == pytest.approx(32.30, abs=0.02)
    # BT.601: 0.114 of 255 is 29.07.
    assert naive == pytest.approx(hex_to_lab("#1d1d1d")[0], abs=0.1)
    for grey in ("#000000", "#777777", "#ffffff"):
        assert grey_values(hex_to_lab(grey)) == pytest.approx(
            [hex_to_lab(grey)[0]] * 2, abs=0.01
        )


def test_pictures():
    """Two PNGs without metadata: true greys as light as the colours, naive ones not."""
    photo, _ = two_yarns()
    lightness = []
    for data in both_greys():
        image = Image.open(BytesIO(data))
        assert not (set(image.info) - {"dpi"})
        dots = np.asarray(image.convert("RGB"))
        assert (dots[..., 0] == dots[..., 1]).all() and (
            dots[..., 1] == dots[..., 2]
        ).all()
        top = round(2 * LINE) + 20
        lightness.append(
            [linear_to_lab(srgb255_to_linear(dots[top, x]))[0] for x in (300, 1600)]
        )
    colours = [
        linear_to_lab(srgb255_to_linear(photo.pixels[0, x]))[0] for x in (100, 300)
    ]
    assert lightness[0] == pytest.approx(colours, abs=0.5)
    assert lightness[1] == pytest.approx(
        [
            grey_values(tuple(linear_to_lab(srgb255_to_linear(photo.pixels[0, x]))))[1]
            for x in (100, 300)
        ],
        abs=0.5,
    )
    assert lightness[0] != pytest.approx(lightness[1], abs=1)


def test_names_are_drawn():
    """A name stands on its ball, black or white by what lies under it."""
    with_names = both_greys()[0]
    without = grey_pictures(two_yarns()[0])[0]
    named, plain = (
        np.asarray(Image.open(BytesIO(data)).convert("L")).astype(int)
        for data in (with_names, without)
    )
    changed = np.abs(named - plain) > 60
    top = round(2 * LINE)
    assert changed[top + 650 : top + 790, 200:760].any()
    assert changed[top + 650 : top + 790, 1160:1720].any()  # "no. 2": no font has it
    assert not changed[:top].any()


def test_compare_swatch():
    """Equal mixes differ by nothing; else near and far are the kit's own steps."""
    marl = Mix((hex_to_lab("#c8cdd0"), hex_to_lab("#34495e")), (1, 1))
    same = compare_swatch(marl, marl)
    assert (same.near, same.far) == pytest.approx((0, 0), abs=1e-9)
    darker = compare_swatch(solid((40, 0, 0)), solid((50, 0, 0)))
    wanted = ciede2000(np.array((50, 0, 0)), np.array((40, 0, 0)))
    assert darker.near == darker.far == pytest.approx(wanted)
    assert darker.lighter == pytest.approx(-10)
    assert darker.cause == "darker by 10 L*"
