"""Colours along a strand: each has its share, wherever it lies."""

from dataclasses import replace

import numpy as np
import pytest

from kit.colour import Mix, mean_lab
from kit.colour.spaces import lab_to_linear, lab_to_xyz, xyz_to_lab
from kit.pictures.skein import DYED_M, SOFT_M, SPECK_M, UNEVEN, dyed
from tests.helpers.yarns import LABEL, yarn

LABS = ((90.0, 5.0, 10.0), (40.0, 30.0, -20.0), (60.0, -25.0, 15.0))
STYLES = ("tonal", "variegated", "speckled", "self-striping", "solid")


def dyed_as(style, shares=(6, 3, 1), name="Row of Jars"):
    made = yarn(name, Mix(LABS[: len(shares)], shares))
    return replace(made, label=replace(LABEL, style=style))


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("shares", [(6, 3, 1), (1, 1), (86, 9, 5)])
def test_the_whole_strand_has_the_mix(style, shares):
    """Over all that is drawn by lot, the mean colour is the mix's own mean."""
    one = dyed_as(style, shares)
    whole = dyed(one).ends_m[-1]
    mean = dyed(one).between(np.linspace(0, whole, 5001)).mean(axis=0)
    said = lab_to_linear(np.array(mean_lab(one.mix)))
    # Soft pieces overlap, and not by whole pieces: a trace is counted twice.
    assert np.allclose(mean, said, atol=1e-4 if style in SOFT_M else 1e-9)
    assert whole == pytest.approx(DYED_M, rel=0.1)


def test_a_solid_is_one_colour():
    """A solid strand shows its colour everywhere."""
    one = yarn("Salt", LABS[0])
    seen = dyed(one).between(np.linspace(3, 5, 11))
    assert np.allclose(seen, lab_to_linear(np.array(LABS[0])))


@pytest.mark.parametrize("style", STYLES)
def test_pieces_add_up(style):
    """Pieces average to what a longer piece shows, but for what is soft between."""
    strand = dyed(dyed_as(style))
    edges = np.linspace(17.0, 29.0, 601)
    fine, whole = strand.between(edges), strand.between(edges[[0, -1]])[0]
    soft = 2 * SOFT_M.get(style, 0.0) / 12.0
    assert np.allclose(fine.mean(axis=0), whole, atol=1e-9 + soft)


def test_lengths_of_runs():
    """Specks are a stitch or two long, variegated runs longer, stripes longest."""

    def runs(style):
        return np.diff(dyed(dyed_as(style)).ends_m)

    specks = runs("speckled")[1::2]
    assert np.all(np.abs(specks / specks.mean() - 1) <= UNEVEN + 0.35)
    assert specks.mean() == pytest.approx(SPECK_M, rel=0.02)
    assert 0.1 < runs("variegated").mean() < 1
    assert runs("self-striping").mean() > 4


def test_tonal_is_soft_and_variegated_is_not():
    """From one stitch to the next a tonal strand changes little."""
    edges = np.arange(0, 40, 0.02)

    def largest_change(style):
        seen = dyed(dyed_as(style)).between(edges)
        return np.abs(np.diff(seen, axis=0)).max()

    assert largest_change("tonal") < 0.1 * largest_change("variegated")


def test_a_ball_longer_than_what_is_drawn_begins_again():
    """Colours come round without a break."""
    strand = dyed(dyed_as("variegated"))
    whole, edges = strand.ends_m[-1], np.linspace(0, 5, 200)
    assert np.allclose(strand.between(edges), strand.between(edges + whole), atol=1e-9)


def test_seeded_by_name():
    """The same yarn is dyed the same way, another name another way."""
    edges = np.linspace(0, 10, 300)
    one = dyed(dyed_as("variegated")).between(edges)
    dyed.cache_clear()
    assert np.array_equal(one, dyed(dyed_as("variegated")).between(edges))
    other = dyed(dyed_as("variegated", name="Row of Pots")).between(edges)
    assert not np.allclose(one, other)


def test_means_are_taken_in_linear_light():
    """Half black, half white averages to half the light of white."""
    pair = yarn("Piano", Mix(((0.0, 0.0, 0.0), (100.0, 0.0, 0.0)), (1, 1)))
    pair = replace(pair, label=replace(LABEL, style="variegated"))
    strand = dyed(pair)
    mean = strand.between(np.array([0.0, strand.ends_m[-1]]))[0]
    # Y = 0.5 is L* 76.07 by CIE 15, eq. 8.3: 116 * 0.5^(1/3) - 16.
    lab = xyz_to_lab(lab_to_xyz(np.array(mean_lab(pair.mix))))
    assert lab[0] == pytest.approx(116 * 0.5 ** (1 / 3) - 16, abs=1e-6)
    assert np.allclose(mean, 0.5, atol=5e-4)  # D65 as printed leaves 0.0005 in blue
