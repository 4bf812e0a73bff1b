"""Colour differences and shares moved onto shares, by outside libraries."""

import colour
import numpy as np
from scipy.optimize import linprog


def judged(lab_1, lab_2):
    """CIEDE2000 by colour-science."""
    return colour.delta_E(lab_1, lab_2, method="CIE 2000")


def least_cost(cost, supply, demand):
    """What moving supply onto demand costs at least, by linear programming."""
    m, n = cost.shape
    leaving = np.kron(np.eye(m), np.ones(n))
    arriving = np.kron(np.ones(m), np.eye(n))
    # One row follows from the others; two sums to 1 differ in their last bit.
    rows, sums = np.vstack([leaving, arriving])[:-1], np.r_[supply, demand][:-1]
    found = linprog(cost.ravel(), A_eq=rows, b_eq=sums, method="highs")
    assert found.status == 0
    return found.fun
