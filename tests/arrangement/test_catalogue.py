"""Bounds on steps of many mixes, against the steps themselves."""

import numpy as np
import pytest

from kit.arrangement import catalogue as module
from kit.arrangement.catalogue import StepsTo, bounds, catalogue
from kit.colour import Mix, mean_lab, step_table
from kit.colour.mixes import solid
from tests.helpers.strategies import random_mixes

ROUNDING = 1e-9


@pytest.fixture
def rng():
    return np.random.default_rng(17)


@pytest.mark.parametrize("view", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("chunk", [1, 40, 10**6])
def test_bounds_are_never_over_the_step(view, chunk, rng, monkeypatch):
    """No bound is over its step, and it is the step where either mix is of one colour
    or all is seen from across the room; however the work is cut up."""
    monkeypatch.setattr(module, "CHUNK", chunk)
    many, few = random_mixes(60, rng), random_mixes(9, rng)
    low = bounds(catalogue(many), catalogue(few), view=view)
    steps = step_table(many, few, view=view)
    assert (low <= steps + ROUNDING).all()
    for i, one in enumerate(many):
        for j, two in enumerate(few):
            if len(one.labs) == 1 or len(two.labs) == 1 or view == 1:
                assert low[i, j] == pytest.approx(steps[i, j], abs=ROUNDING)
    assert np.median(low / np.maximum(steps, 1)) > 0.8  # close enough to be of use


def test_averages_are_those_of_the_colour_module(rng):
    """Packed averages are mean_lab's, those of solids to the last bit."""
    mixes = [*random_mixes(40, rng), solid((50, 1, 2)), solid((200.0, 0.0, 0.0))]
    packed = catalogue(mixes)
    assert len(packed) == 42
    for mix, mean in zip(mixes, packed.means, strict=True):
        assert mean == pytest.approx(mean_lab(mix), abs=1e-9)
        if len(mix.labs) == 1:
            assert tuple(mean) == mix.labs[0]
    again = packed.only([3, 41])
    assert again.mixes == (mixes[3], mixes[41])


def test_nothing_packed():
    """An empty list has no bounds."""
    assert len(catalogue([])) == 0
    one = catalogue([solid((50, 0, 0))])
    assert bounds(catalogue([]), one, view=0.5).shape == (0, 1)


def test_steps_are_true_where_asked_for(rng):
    """Settled places hold the step, the others their bound."""
    many, mix = random_mixes(30, rng, most=3), Mix(((20, 5, 5), (80, 0, 9)), (1, 2))
    packed = catalogue(many)
    low = bounds(packed, catalogue([mix]), view=0.3)[:, 0]
    steps = StepsTo(packed, mix, low, view=0.3)
    asked = np.array([4, 7, 21])
    steps.measure(asked)
    true = step_table(many, [mix], view=0.3)[:, 0]
    np.testing.assert_allclose(steps.low[asked], true[asked], atol=ROUNDING)
    others = np.setdiff1d(np.arange(30), asked)
    assert (steps.low[others] == low[others]).all()
