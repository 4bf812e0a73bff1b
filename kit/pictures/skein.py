"""How the colours of a yarn lie along its strand, metre by metre.

Where they lie is drawn by lot, seeded by the yarn's name and tag; how much there is of
each is the yarn's own share, exactly so over what is drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from zlib import crc32

import numpy as np

from kit.blanket import Yarn
from kit.colour.spaces import lab_to_linear

# How far colours reach, in metres of strand (common practice, no source): once round
# the dyer's skein, a run of a self-striping yarn, one speck, and how far the colours of
# a tonal yarn run into each other.
ROUND_M = {"variegated": 1.6, "solid": 1.6, "tonal": 1.1}
SELF_STRIPE_M = 6.0
SPECK_M = 0.025
SOFT_M = {"tonal": 0.2}
UNEVEN = 0.3  # of a run's length, either way
DYED_M = 200.0  # drawn by lot; a longer ball begins again


@dataclass(frozen=True, slots=True)
class Dyed:
    """Colours along a strand: where runs end, m, and all light up to there (n, 3)."""

    ends_m: np.ndarray
    light: np.ndarray
    start_m: float
    soft_m: float

    def between(self, edges_m: np.ndarray) -> np.ndarray:
        """The mean colour between neighbouring edges: linear sRGB, (n edges - 1, 3)."""
        if len(self.ends_m) == 2:
            colour = self.light[-1] / self.ends_m[-1]
            return np.broadcast_to(colour, (len(edges_m) - 1, 3))
        first, last = edges_m[:-1] - self.soft_m, edges_m[1:] + self.soft_m
        if self.soft_m:
            total = self._up_to(last) - self._up_to(first)
        else:
            total = np.diff(self._up_to(edges_m), axis=0)
        return total / (last - first)[:, None]

    def _up_to(self, at_m: np.ndarray) -> np.ndarray:
        rounds, rest = np.divmod(at_m + self.start_m, self.ends_m[-1])
        parts = [np.interp(rest, self.ends_m, self.light[:, c]) for c in range(3)]
        return np.stack(parts, axis=-1) + rounds[:, None] * self.light[-1]


@lru_cache(maxsize=1000)
def dyed(yarn: Yarn) -> Dyed:
    """How the colours lie along a yarn. Over the whole, each has exactly its share."""
    linear = lab_to_linear(np.array(yarn.mix.labs))
    style, shares = yarn.label.style, np.array(yarn.mix.shares)
    rng = np.random.default_rng(crc32(f"{yarn.no} {yarn.name}".encode()))
    if len(shares) == 1:
        which, lengths = np.zeros(1, int), np.ones(1)
    elif style == "speckled":
        which, lengths = _specks(shares, rng)
    else:
        round_m = ROUND_M.get(style, SELF_STRIPE_M * len(shares))
        which, lengths = _rounds(shares, round_m, rng)
    ends = np.concatenate([[0.0], np.cumsum(lengths)])
    light = np.concatenate([np.zeros((1, 3)), lengths[:, None] * linear[which]])
    start = rng.uniform(0, ends[-1])
    return Dyed(ends, np.cumsum(light, axis=0), start, SOFT_M.get(style, 0.0))


def _rounds(
    shares: np.ndarray, round_m: float, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """The colours one after the other, time and again, in runs of uneven length."""
    n = max(1, round(DYED_M / round_m))
    lengths = rng.uniform(1 - UNEVEN, 1 + UNEVEN, (n, len(shares)))
    lengths *= shares * n * round_m / lengths.sum(axis=0)
    return np.tile(np.arange(len(shares)), n), lengths.ravel()


def _specks(
    shares: np.ndarray, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Specks of the smaller colours, strewn along the largest one."""
    base = int(np.argmax(shares))
    counts = np.maximum(1, np.round(shares * DYED_M / SPECK_M)).astype(int)
    counts[base] = 0
    specks = rng.permutation(np.repeat(np.arange(len(shares)), counts))
    which = np.stack([np.full(len(specks), base), specks], axis=1).ravel()
    lengths = rng.uniform(1 - UNEVEN, 1 + UNEVEN, len(which))
    lengths[::2] = rng.exponential(size=len(specks))
    drawn = np.bincount(which, lengths, minlength=len(shares))
    return which, lengths * (shares * DYED_M / np.maximum(drawn, 1e-9))[which]
