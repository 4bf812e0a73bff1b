"""Many mixes against few: bounds on their steps, the exact step where it may count.

The relaxed earth-mover's distance (every colour moved to its nearest, either way round,
the larger of the two) is never over the true one, and the far part is exact; so what
the bound rules out cannot win, and few true distances need working out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from kit.colour import Mix
from kit.colour.delta_e import ciede2000_table
from kit.colour.difference import at_view, pair_steps
from kit.colour.spaces import lab_to_xyz, xyz_to_lab

CHUNK = 400_000  # colour pairs in memory at a time
BATCH = 32  # true steps worked out at a time
ROUNDING = 1e-9  # dE00: two ways of adding up one step may differ by less than this


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """n mixes as arrays: `labs` (colours, 3) and `shares` (colours,) one mix after the
    other, `starts` (n,) where each begins, `means` (n, 3) their averages."""

    mixes: tuple[Mix, ...]
    labs: np.ndarray
    shares: np.ndarray
    starts: np.ndarray
    means: np.ndarray

    def __len__(self) -> int:
        return len(self.mixes)

    def only(self, places: Sequence[int] | np.ndarray) -> Catalogue:
        """Those at some places, in that order."""
        return catalogue([self.mixes[k] for k in places])


def catalogue(mixes: Sequence[Mix]) -> Catalogue:
    """Pack mixes. Their averages are taken in linear light, as `colour.mean_lab`."""
    counts = np.array([len(mix.labs) for mix in mixes], dtype=int)
    labs = np.array([lab for mix in mixes for lab in mix.labs]).reshape(-1, 3)
    shares = np.array([share for mix in mixes for share in mix.shares])
    starts = np.cumsum(counts) - counts
    light = lab_to_xyz(labs) * shares[:, None]
    means = np.add.reduceat(light, starts, axis=0) if len(mixes) else light
    solids = starts[counts == 1]
    means = xyz_to_lab(means)
    means[counts == 1] = labs[solids]
    return Catalogue(tuple(mixes), labs, shares, starts, means)


def bounds(one: Catalogue, two: Catalogue, *, view: float) -> np.ndarray:
    """Steps that those of every pair cannot be under, dE00, shape (n, m).

    The step itself, to rounding, where either mix is of one colour.
    """
    found = np.empty((len(one), len(two)))
    for rows in _chunks(one, len(two.labs)):
        found[rows] = _bounds(one, rows, two, view)
    return found


def _chunks(one: Catalogue, n_across: int) -> list[slice]:
    """Runs of mixes whose colours by `n_across` stay within CHUNK pairs."""
    most = max(1, CHUNK // max(n_across, 1))
    cuts, begin = [], 0
    ends = np.append(one.starts[1:], len(one.labs))
    while begin < len(one):
        end = int(np.searchsorted(ends, one.starts[begin] + most, side="right"))
        end = max(end, begin + 1)
        cuts.append(slice(begin, end))
        begin = end
    return cuts


def _bounds(one: Catalogue, rows: slice, two: Catalogue, view: float) -> np.ndarray:
    starts = one.starts[rows]
    begin = int(starts[0])
    end = len(one.labs) if rows.stop >= len(one) else int(one.starts[rows.stop])
    shares, starts = one.shares[begin:end], starts - begin
    ground = ciede2000_table(one.labs[begin:end], two.labs)
    there = np.minimum.reduceat(ground, two.starts, axis=1) * shares[:, None]
    back = np.minimum.reduceat(ground, starts, axis=0) * two.shares
    near = np.maximum(
        np.add.reduceat(there, starts, axis=0),
        np.add.reduceat(back, two.starts, axis=1),
    )
    far = ciede2000_table(one.means[rows], two.means)
    return at_view(view, near, far)


class StepsTo:
    """The steps from every mix of a catalogue to one mix, true only where asked for.

    `low` (n,) holds bounds, replaced by the step itself as it is worked out.
    """

    def __init__(self, listed: Catalogue, mix: Mix, low: np.ndarray, *, view: float):
        self.listed, self.mix, self.low, self.view = listed, mix, low.copy(), view
        counts = np.diff(np.append(listed.starts, len(listed.labs)))
        self.known = (counts == 1) | (len(mix.labs) == 1)

    def measure(self, places: np.ndarray) -> None:
        """Work out the steps at these places."""
        left = places[~self.known[places]]
        if left.size:
            mixes = [self.listed.mixes[k] for k in left]
            steps = pair_steps(mixes, [self.mix] * len(mixes), view=self.view)
            self.low[left], self.known[left] = steps, True
