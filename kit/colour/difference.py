"""How far apart two mixes of colours look: near, far, and the step between.

Near (in the hand) is the earth-mover's distance with CIEDE2000 as ground cost, far
(across the room) CIEDE2000 between the two averages.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TypeVar

import numpy as np

from kit.colour.delta_e import ciede2000, ciede2000_table
from kit.colour.mixes import Mix, mean_lab
from kit.colour.spaces import Lab
from kit.colour.transport import transport_cost

VIEW = 0.5  # half-way between in the hand and across the room (our convention)
Sizes = TypeVar("Sizes", float, np.ndarray)  # dE00


def far_steps(mixes_1: Sequence[Mix], mixes_2: Sequence[Mix]) -> np.ndarray:
    """Across the room: CIEDE2000 between the averages, pair by pair, shape (n,)."""
    if not mixes_1:
        return np.empty(0)
    means_1 = np.array([mean_lab(mix) for mix in mixes_1])
    return ciede2000(means_1, np.array([mean_lab(mix) for mix in mixes_2]))


def near_steps(mixes_1: Sequence[Mix], mixes_2: Sequence[Mix]) -> np.ndarray:
    """In the hand: earth-mover's distance with CIEDE2000 as ground cost, (n,).

    With a solid on either side it is the share-weighted mean of CIEDE2000.
    """
    near = np.empty(len(mixes_1))
    shapes: dict[tuple[int, int], list[int]] = {}
    for i, (one, two) in enumerate(zip(mixes_1, mixes_2, strict=True)):
        shapes.setdefault((len(one.labs), len(two.labs)), []).append(i)
    for (m, n), members in shapes.items():
        labs_1 = np.array([mixes_1[i].labs for i in members]).reshape(-1, m, 1, 3)
        labs_2 = np.array([mixes_2[i].labs for i in members]).reshape(-1, 1, n, 3)
        shares_1 = np.array([mixes_1[i].shares for i in members])
        shares_2 = np.array([mixes_2[i].shares for i in members])
        near[members] = transport_cost(ciede2000(labs_1, labs_2), shares_1, shares_2)
    return near


def at_view(view: float, near: Sizes, far: Sizes) -> Sizes:
    """(1 - view) near + view far, any shape: what is called a step (our convention).

    `view` runs from 0, in the hand, to 1, across the room. ValueError outside.

    >>> at_view(0.5, 10.0, 2.0)
    6.0
    """
    if not 0 <= view <= 1:
        raise ValueError(f"view is {view:g}; it runs from 0 to 1")
    return (1 - view) * near + view * far


def pair_steps(
    mixes_1: Sequence[Mix], mixes_2: Sequence[Mix], *, view: float
) -> np.ndarray:
    """The step (1 - view) near + view far, pair by pair, shape (n,)."""
    near, far = near_steps(mixes_1, mixes_2), far_steps(mixes_1, mixes_2)
    return at_view(view, near, far)


def step_table(
    mixes_1: Sequence[Mix],
    mixes_2: Sequence[Mix] | None = None,
    *,
    view: float = VIEW,
) -> np.ndarray:
    """The step (1 - view) near + view far of every pair, in dE00.

    Near is the earth-mover's distance with CIEDE2000 as ground cost, far CIEDE2000
    between the averages; half-way between is our own convention. The same tuple of
    mixes again costs nothing: near and far are remembered.

    Parameters
    ----------
    mixes_1 : sequence of Mix
        n mixes, one a row of the table.
    mixes_2 : sequence of Mix, optional
        m mixes, one a column; left out, the first ones again.
    view : float
        From 0, in the hand, to 1, across the room; no unit.

    Returns
    -------
    array of shape (n, m)
        Steps in ΔE00.

    Examples
    --------
    >>> from kit.colour import read_mix
    >>> mixes = [read_mix(text)[0] for text in ("#ffffff", "#808080", "#000000")]
    >>> step_table(mixes).round().tolist()
    [[0.0, 33.0, 100.0], [33.0, 0.0, 40.0], [100.0, 40.0, 0.0]]
    """
    first = tuple(mixes_1)
    near, far = _near_and_far(first, first if mixes_2 is None else tuple(mixes_2))
    return at_view(view, near, far)


@lru_cache(maxsize=32)
def _near_and_far(
    mixes_1: tuple[Mix, ...], mixes_2: tuple[Mix, ...]
) -> tuple[np.ndarray, np.ndarray]:
    means_1 = np.array([mean_lab(mix) for mix in mixes_1]).reshape(-1, 3)
    means_2 = np.array([mean_lab(mix) for mix in mixes_2]).reshape(-1, 3)
    far = ciede2000_table(means_1, means_2)
    near = far.copy()
    many_1 = [i for i, mix in enumerate(mixes_1) if len(mix.labs) > 1]
    many_2 = [j for j, mix in enumerate(mixes_2) if len(mix.labs) > 1]
    same = mixes_1 == mixes_2
    pairs = [(i, j) for i in many_1 for j in range(len(mixes_2))]
    if same:  # half the table; the other half is its mirror image
        pairs = [(i, j) for i, j in pairs if j > i or len(mixes_2[j].labs) == 1]
    else:
        solids = (i for i, mix in enumerate(mixes_1) if len(mix.labs) == 1)
        pairs += [(i, j) for i in solids for j in many_2]
    if pairs:
        rows, columns = (list(side) for side in zip(*pairs, strict=True))
        near[rows, columns] = near_steps(
            [mixes_1[i] for i in rows], [mixes_2[j] for j in columns]
        )
        if same:
            near[columns, rows] = near[rows, columns]
    if same:
        np.fill_diagonal(near, 0)
        np.fill_diagonal(far, 0)
    near.flags.writeable = far.flags.writeable = False
    return near, far


@lru_cache(maxsize=50_000)
def mcdm(mix: Mix) -> float:
    """How busy a mix is: its mean colour difference from the mean (MCDM), in dE00.

    Each colour counts with its share; 0 for a solid.
    """
    mean: Lab = mean_lab(mix)
    return float(np.dot(ciede2000(np.array(mix.labs), np.array(mean)), mix.shares))
