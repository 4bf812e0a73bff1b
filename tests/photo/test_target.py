"""The 24-patch target: found, set upright, or refused in words."""

import re
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from kit.colour import ciede2000
from kit.colour.spaces import hex_to_lab, linear_to_lab
from kit.errors import KitError
from kit.photo.target import GREYS, find_patches, true_linear
from tests.helpers.photos import (
    Camera,
    Scene,
    flat_reflectance,
    photograph,
    sample_reflectances,
)

GOLD = Path(__file__).parents[1] / "gold"
CORNERS = ((82.0, 60.0), (330.0, 50.0), (322.0, 225.0), (70.0, 205.0))
PLAIN = ((20.0, 20.0), (380.0, 20.0), (380.0, 260.0), (20.0, 260.0))


@lru_cache
def shot(corners=CORNERS, light="D50", **chart):
    scene = Scene(400, 280)
    scene.chart(corners, **chart)
    return photograph(scene, light)


@lru_cache
def upright():
    return find_patches(shot(), CORNERS)


def refusal(photo, corners):
    with pytest.raises(KitError) as caught:
        find_patches(photo, corners)
    return str(caught.value)


def test_the_reference_is_the_published_one():
    """The patches under D65 are the data set's own, adapted from D50 by others."""
    gold = pd.read_csv(GOLD / "target24_reference.csv", skiprows=3)  # hex has a #
    rows = gold[gold.dataset_key == "BabelColor Average"]
    labs = np.array([hex_to_lab(text) for text in rows.sRGB_hex_Bradford])
    inside = (rows.note != "clipped").to_numpy()
    off = ciede2000(linear_to_lab(np.maximum(true_linear(), 0)), labs)[inside]
    # Not half a digit: adapting from D50 and integrating under D65 differ by this much.
    assert off.mean() < 0.7
    assert off.max() < 1.5
    assert GREYS.sum() == 6


def test_patches_are_read_where_they_lie():
    """Every patch's colour is that of its own place, not of its neighbour."""
    labs = linear_to_lab(np.array(upright().linear))
    off = ciede2000(labs, linear_to_lab(np.maximum(true_linear(), 0)))
    assert upright().sentences == ()
    assert not any(upright().clipped)
    assert not any(upright().uneven)
    assert off.max() < 16  # daylight's cast and a third of a stop; neighbours: 20-90


@pytest.mark.parametrize("first", range(4))
@pytest.mark.parametrize("backwards", [False, True])
def test_corners_may_begin_anywhere(first, backwards):
    """Any first corner, and either way round, gives the same patches."""
    corners = CORNERS[first:] + CORNERS[:first]
    corners = corners[::-1] if backwards else corners
    found = find_patches(shot(), corners)
    np.testing.assert_allclose(found.linear, upright().linear, atol=1e-6)
    mended = "The target lies upright, and its first corner was another one; mended."
    assert found.sentences == (() if corners[0] == CORNERS[0] else (mended,))


@pytest.mark.parametrize(
    ("turn", "lies"), [(1, "on its side"), (2, "upside down"), (3, "on its side")]
)
def test_a_turned_target_is_mended_and_said(turn, lies):
    """A target lying on its side or upside down is read as if it were upright."""
    square = ((100.0, 40.0), (290.0, 45.0), (285.0, 235.0), (95.0, 230.0))
    turned = square[turn:] + square[:turn]
    found = find_patches(shot(turned), square)
    says = f"The target lies {lies}, and its first corner was another one; mended."
    assert found.sentences == (says,)
    np.testing.assert_allclose(found.corners[0], turned[0], atol=8)
    labs = linear_to_lab(np.array(found.linear))
    assert ciede2000(labs, linear_to_lab(np.array(upright().linear))).max() < 4


def test_the_frame_may_be_marked():
    """Corners on the dark frame instead of the patches find the patches too."""
    frame = ((70.5, 49.0), (341.5, 38.0), (332.5, 236.5), (58.5, 215.0))
    found = find_patches(shot(), frame)
    labs = [linear_to_lab(np.array(p.linear)) for p in (found, upright())]
    assert ciede2000(*labs).max() < 1.5
    assert found.corners != frame


@pytest.mark.parametrize("seed", range(4))
def test_corners_need_not_be_exact(seed):
    """Corners marked up to a sixth of a patch off give the same colours."""
    rng = np.random.default_rng(seed)
    near = tuple(map(tuple, (np.array(CORNERS) + rng.uniform(-6, 6, (4, 2))).tolist()))
    both = find_patches(shot(), near), upright()
    labs = [linear_to_lab(np.array(patches.linear)) for patches in both]
    assert ciede2000(*labs).max() < 1.5


def test_a_scaled_down_photo_is_measured_in_full_pixels():
    """Corners are given in pixels of the original, whatever was scaled down."""
    small = replace(shot(), full_size=(800, 560), reduced=2)
    doubled = tuple((2 * x, 2 * y) for x, y in CORNERS)
    assert find_patches(small, doubled).linear == upright().linear


def test_a_mirrored_target_is_refused():
    """The picture of a front camera's mirror has its colours in the wrong places."""
    assert refusal(shot(mirrored=True), CORNERS) == (
        "The 24-patch target is mirrored in this photo. Use the picture the camera "
        "took, not the one it shows as a mirror."
    )


@pytest.mark.parametrize("seed", range(3))
def test_other_patches_are_no_target(seed):
    """24 other colours in the same places are refused."""
    rng = np.random.default_rng(seed)
    others = sample_reflectances()[rng.permutation(99)[:24]]
    scene = Scene(400, 280)
    scene.chart(CORNERS, reflectances=others)
    assert "No 24-patch target was found" in refusal(photograph(scene), CORNERS)


def test_a_missing_target_is_refused():
    """A plain table between the corners is no target."""
    assert refusal(photograph(Scene(400, 280)), PLAIN) == (
        "No 24-patch target was found between the four corners. Mark the outer corners "
        "of the corner patches, beginning beside the first patch."
    )


def test_a_cut_off_target_is_refused():
    """Corners that hold only part of the target do not pass for all of it."""
    part = (CORNERS[0], (220.0, 55.0), (212.0, 216.0), CORNERS[3])
    assert "target" in refusal(shot(), part)


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        (CORNERS[:3], "A 24-patch target needs four corners marked; found 3 corners."),
        (
            (CORNERS[0], CORNERS[2], CORNERS[1], CORNERS[3]),
            "The four corners of the target do not go round a four-sided shape. Mark "
            "them in turn, clockwise, beginning beside the first patch.",
        ),
        (
            (CORNERS[0], (420.0, 50.0), *CORNERS[2:]),
            "A corner of the target lies outside the photo. Mark it inside.",
        ),
        (
            ((82.0, 60.0), (120.0, 60.0), (120.0, 90.0), (82.0, 90.0)),
            "The target is too small: its patches are under 8 pixels wide. Photograph "
            "it from closer by.",
        ),
        ((CORNERS[0],) * 4, None),
        ((CORNERS[0], (float("nan"), 50.0), *CORNERS[2:]), None),
    ],
)
def test_corners_that_cannot_be(corners, says):
    """Too few corners, crossed, outside, too near, all the same: a sentence each."""
    assert says in (None, refusal(shot(), corners))
    assert refusal(shot(), corners)


def test_glare_on_a_patch_is_noticed():
    """A bright spot across some patches marks those as uneven."""
    scene = Scene(400, 280)
    scene.chart(CORNERS)
    scene.shine[75:90, 90:250] += 0.15
    found = find_patches(photograph(scene, "D50"), CORNERS)
    assert 1 <= sum(found.uneven) <= 6


def test_overexposed_patches_are_noticed():
    """White and the lightest patches are marked where the photo is too bright."""
    scene = Scene(400, 280)
    scene.chart(CORNERS)
    found = find_patches(photograph(scene, "D50", Camera(exposure=1.5)), CORNERS)
    assert found.clipped[18]
    assert not found.clipped[23]


def test_a_photo_far_too_bright_is_refused():
    """Where most patches are at the limit there is nothing to fit."""
    scene = Scene(400, 280)
    scene.chart(CORNERS)
    bright = photograph(scene, "D50", Camera(exposure=5))
    says = r"\d+ of the 24 patches between the four corners are overexposed. Take the "
    assert re.fullmatch(says + "photo darker.", refusal(bright, CORNERS))


def test_noise_is_not_unevenness():
    """A grainy photo has even patches."""
    scene = Scene(400, 280)
    scene.chart(CORNERS)
    found = find_patches(photograph(scene, "A", Camera(noise=0.03)), CORNERS)
    assert sum(found.uneven) <= 1


def test_a_field_of_one_colour_is_refused_everywhere():
    """Black, grey and white cards are no targets."""
    for share in (0.0, 0.4, 0.9):
        scene = Scene(400, 280, table=flat_reflectance(share))
        assert "No 24-patch target" in refusal(photograph(scene), PLAIN)


def test_the_truth_is_what_it_says():
    """White is the lightest patch, black the darkest, red redder than green."""
    L, a, _ = linear_to_lab(np.maximum(true_linear(), 0)).T
    assert (L.argmax(), L.argmin()) == (18, 23)
    assert a[14] > 40 > 0 > a[13]
