"""Colours fitted to colours: degree and contrast curve, by what was left out."""

from functools import lru_cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from kit.colour import ciede2000
from kit.colour.spaces import lab_to_linear, linear_to_lab
from kit.photo.fitting import (
    DEGREES,
    PLAIN,
    Fit,
    best_fit,
    fit_colours,
    fitted,
    left_out_errors,
    weighted,
)
from kit.photo.target import GREYS, true_linear
from tests.helpers.photos import (
    Camera,
    chart_reflectances,
    developed_colours,
    sample_reflectances,
    true_labs,
)

GOLD = Path(__file__).parents[1] / "gold"
LIGHTS = ("A", "D65", "FL2")


@lru_cache
def seen(light, **camera):
    """(patches, samples) as a camera without noise records them, linear light."""
    shot = Camera(**camera)
    patches = developed_colours(chart_reflectances(), light, shot)
    return patches, developed_colours(sample_reflectances(), light, shot)


def off(fit, linear, labs):
    return ciede2000(linear_to_lab(fitted(fit, linear)), labs)


def test_the_plain_fit_changes_nothing():
    """Without a fit, colours stay as they are, but not below 0."""
    linear = np.array([(0.2, 0.5, 1.2), (-0.1, 0.0, 0.3)])
    np.testing.assert_array_equal(fitted(PLAIN, linear), np.maximum(linear, 0))


def test_a_matrix_is_found_again():
    """Patches seen through a 3 x 3 matrix are taken back exactly."""
    matrix = np.array([(0.8, 0.1, 0.05), (0.1, 0.7, 0.1), (0.0, 0.2, 0.5)])
    true = np.maximum(true_linear(), 0)
    fit = fit_colours(true @ matrix.T, true, GREYS, degree=1, curved=False)
    np.testing.assert_allclose(fit.terms, np.linalg.inv(matrix), atol=1e-9)


def test_brightness_does_not_matter():
    """A root-polynomial fitted at one exposure holds at another (Finlayson 2015)."""
    patches, samples = seen("A")
    fit = fit_colours(patches, true_linear(), GREYS, degree=2, curved=False)
    half = fit_colours(patches / 2, true_linear(), GREYS, degree=2, curved=False)
    np.testing.assert_allclose(
        fitted(half, samples / 2), fitted(fit, samples), rtol=1e-6, atol=1e-9
    )


def test_a_contrast_curve_is_undone():
    """A power law laid over everything is read off the greys, below them too."""
    true = np.maximum(true_linear(), 1e-3)
    fit = fit_colours(true**1.3, true, GREYS, degree=1, curved=True)
    dark = np.array([(0.01, 0.01, 0.01), (0.3, 0.2, 0.1)])
    np.testing.assert_allclose(fitted(fit, dark**1.3), dark, rtol=0.02)


def test_a_high_degree_fits_the_patches_and_nothing_else():
    """Degree 4 is nearly perfect on what it saw and useless beyond, as published."""
    gold = pd.read_csv(GOLD / "photo_correction_sim.csv", comment="#")
    row = gold[
        (gold.illuminant == "A")
        & (gold.camera == "Nikon 5100 (NPL)")
        & gold.correction.str.contains("'degree': 4, 'root")
    ].iloc[0]
    # photo_correction_sim.csv: 0.11 on its own patches, 36.83 on the 99 samples.
    assert (row.mean24, row.meanCES) == (0.11, 36.83)
    patches, samples = seen("A")
    fit = fit_colours(patches, true_linear(), GREYS, degree=4, curved=False)
    true = linear_to_lab(np.maximum(true_linear(), 0))
    assert off(fit, patches, true).mean() < 0.5
    assert off(fit, samples, true_labs(sample_reflectances())).mean() > 10
    assert (
        left_out_errors(patches, true_linear(), GREYS, degree=4, curved=False).mean()
        > 10
    )


@pytest.mark.parametrize("light", LIGHTS)
def test_the_chosen_fit_does_not_overfit(light):
    """On samples it never saw the chosen fit is no worse than on patches left out."""
    patches, samples = seen(light)
    fit, errors = best_fit(patches, true_linear(), GREYS)
    unseen = off(fit, samples, true_labs(sample_reflectances()))
    assert fit.degree < 3
    assert unseen.mean() < 1.5 * errors.mean()
    best = min(
        off(
            fit_colours(patches, true_linear(), GREYS, degree=degree, curved=False),
            samples,
            true_labs(sample_reflectances()),
        ).mean()
        for degree in DEGREES
    )
    assert unseen.mean() < best + 0.3  # what choosing may cost, ours


@pytest.mark.parametrize("light", LIGHTS)
def test_the_fit_keeps_near_the_published_floor(light):
    """A second-degree fit errs about as much as one made outside this project."""
    gold = pd.read_csv(GOLD / "photo_correction_sim.csv", comment="#")
    floor = gold[
        (gold.illuminant == light)
        & (gold.camera == "Nikon 5100 (NPL)")
        & gold.correction.str.contains("'degree': 2, 'root_polynomial_expansion': True")
    ].meanCES.iloc[0]
    patches, samples = seen(light)
    fit, _ = best_fit(patches, true_linear(), GREYS)
    mean = off(fit, samples, true_labs(sample_reflectances())).mean()
    # Another camera matrix, clipping and white balance: the half is ours.
    assert mean == pytest.approx(floor, abs=0.5)


def test_a_curve_is_taken_only_where_there_is_one():
    """A camera true to sRGB gets no curve; a phone's contrast gets one that helps."""
    labs = true_labs(sample_reflectances())
    plain, _ = best_fit(seen("D50")[0], true_linear(), GREYS)
    assert plain.curve == ()
    patches, samples = seen("D50", curve=0.6)
    curved, _ = best_fit(patches, true_linear(), GREYS)
    without = fit_colours(patches, true_linear(), GREYS, degree=2, curved=False)
    assert curved.curve
    assert off(curved, samples, labs).mean() < 0.75 * off(without, samples, labs).mean()


def test_too_few_greys_make_no_curve():
    """With four greys or fewer a curve is not tried."""
    patches, _ = seen("D50", curve=0.6)
    few = GREYS & (np.arange(24) > 19)
    fit, _ = best_fit(patches, true_linear(), few)
    assert fit.curve == ()


def test_weights_follow_the_formulas():
    """Four times the light of a grey weighs as the root of CIELAB's slope says."""
    greys = lab_to_linear(np.array([(50.0, 0, 0), (50.0, 0, 0)])) * ((1,), (4,))
    light = weighted(np.ones((2, 3)), greys)
    # CIELAB: the slope of the cube root goes with Y^(-2/3); half of it, as a power.
    assert light[0, 0] / light[1, 0] == pytest.approx(4 ** (1 / 3), rel=1e-3)


def test_a_fit_is_a_value():
    """Equal fits are equal."""
    assert Fit(1, PLAIN.terms) == PLAIN
