"""Shares moved onto shares cost what linear programming finds."""

import numpy as np
import pytest

from kit.colour.transport import transport_cost
from tests.helpers.judges import least_cost


def test_transport_against_linear_programming(rng):
    """Random problems of up to 6 by 6, several at a time, cost what linprog finds."""
    for m in range(1, 7):
        n = 7 - m if m % 2 else 6
        cost = rng.uniform(0, 60, (5, m, n))
        supply, demand = rng.uniform(0.05, 1, (5, m)), rng.uniform(0.05, 1, (5, n))
        supply /= supply.sum(axis=1, keepdims=True)
        demand /= demand.sum(axis=1, keepdims=True)
        theirs = [least_cost(*one) for one in zip(cost, supply, demand, strict=True)]
        # linprog lets a constraint slip by 1e-7.
        np.testing.assert_allclose(
            transport_cost(cost, supply, demand), theirs, atol=1e-5
        )


def test_transport_with_ties(rng):
    """Whole costs and whole shares, where many plans are best, come out exactly."""
    for _ in range(60):
        m, n = rng.integers(2, 6, 2)
        cost = rng.integers(0, 4, (1, m, n)).astype(float)
        supply, demand = rng.integers(1, 5, (1, m)), rng.integers(1, 5, (1, n))
        supply, demand = supply / supply.sum(), demand / demand.sum()
        theirs = least_cost(cost[0], supply[0], demand[0])
        assert transport_cost(cost, supply, demand)[0] == pytest.approx(
            theirs, abs=1e-9
        )


def test_transport_leaves_its_arguments_alone(rng):
    """The shares that are moved are copies."""
    cost, shares = rng.uniform(0, 9, (1, 3, 3)), np.array([[0.5, 0.3, 0.2]])
    transport_cost(cost, shares, shares[:, ::-1])
    assert shares.tolist() == [[0.5, 0.3, 0.2]]
