"""Drawn numbers as ranges: what is likely, and the ends that hold nine of ten."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil

import numpy as np

from kit.yarn.stitch_lengths import Lengths

INSIDE = 0.90  # what a range is to hold


@dataclass(frozen=True, slots=True)
class Range:
    """A number as expected, and the ends between which it lies in nine of ten."""

    likely: float
    low: float
    high: float

    def __repr__(self) -> str:
        return f"Range({self.likely:.1f}: {self.low:.1f} to {self.high:.1f})"

    @property
    def width(self) -> float:
        return self.high - self.low

    @property
    def row_numbers(self) -> tuple[int, int]:
        """Rows knitted by then, low and high, as the rows in which it happens.

        >>> Range(27.5, 26.3, 30.0).row_numbers
        (27, 30)
        """
        return max(1, ceil(self.low)), max(1, ceil(self.high))

    def after(self, start: float) -> Range:
        """The same counted from elsewhere.

        >>> Range(14, 12, 18).after(80)
        Range(94.0: 92.0 to 98.0)
        """
        return Range(start + self.likely, start + self.low, start + self.high)


def range_of(numbers: np.ndarray) -> Range:
    """The middle of drawn numbers, and what holds nine of ten of them."""
    low, likely, high = np.quantile(numbers, [(1 - INSIDE) / 2, 0.5, (1 + INSIDE) / 2])
    return Range(float(likely), float(low), float(high))


def rows_at(lengths: Lengths, n_rows: int) -> Callable[[np.ndarray], np.ndarray]:
    """Metres of one strand to rows, parts of rows too."""
    marks = np.arange(2 * n_rows + 2)
    at = np.array([lengths.mm_at(int(row) * lengths.stitches) for row in marks]) / 1000
    per_m = (marks[-1] - marks[0]) / max(at[-1], 1e-9)

    def rows(metres: np.ndarray) -> np.ndarray:
        beyond = np.maximum(0.0, metres - at[-1]) * per_m
        return np.interp(metres, at, marks) + beyond

    return rows


def of_100(chance: float) -> str:
    """A chance in words, never promising all or nothing.

    >>> of_100(0.572), of_100(0.9985), of_100(0.0)
    ('57 of 100', 'over 99 of 100', 'under 1 of 100')
    """
    if chance > 0.99:
        return "over 99 of 100"
    return f"{100 * chance:.0f} of 100" if chance >= 0.01 else "under 1 of 100"
