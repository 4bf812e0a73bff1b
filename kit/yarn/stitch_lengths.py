"""Yarn along the blanket: stitches knitted to millimetres of each strand, and back."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count
from typing import Protocol


class Lengths(Protocol):
    """Stitches in a row, and stitches to millimetres of each strand and back."""

    @property
    def stitches(self) -> int: ...

    def mm_at(self, stitch: int, /) -> int: ...

    def stitch_at(self, mm: int, /) -> int: ...


@dataclass(frozen=True, slots=True)
class StitchLengths:
    """Yarn used along the blanket, counted from the cast-on edge.

    `stitches` in a row; `row_um` the micrometres of yarn in one stitch of each row, for
    one cycle of sections, and `start_um` those used before each row.
    """

    stitches: int
    row_um: tuple[int, ...]
    start_um: tuple[int, ...]

    def mm_at(self, stitch: int) -> int:
        """Millimetres of each strand used when `stitch` stitches are knitted."""
        if len(self.row_um) == 1:  # the same, and asked for often
            return stitch * self.row_um[0] // 1000
        row, across = divmod(stitch, self.stitches)
        cycles, k = divmod(row, len(self.row_um))
        um = cycles * self.start_um[-1] + self.start_um[k] + across * self.row_um[k]
        return um // 1000

    def mm_between(self, first: int, last: int) -> int:
        """Millimetres of each strand from one stitch to another."""
        return self.mm_at(last) - self.mm_at(first)

    def stitch_at(self, mm: int) -> int:
        """The most stitches that `mm` millimetres of each strand will make."""
        if len(self.row_um) == 1:
            return (1000 * mm + 999) // self.row_um[0]
        cycles, rest = divmod(1000 * mm + 999, self.start_um[-1])
        k = bisect_right(self.start_um, rest) - 1
        across = (rest - self.start_um[k]) // self.row_um[k]
        return (cycles * len(self.row_um) + k) * self.stitches + across


def stitch_lengths_of(
    stitches: int, stitch_m: float, factors: Sequence[float]
) -> StitchLengths:
    """The yarn along rows of `stitches`, `stitch_m` metres of yarn each; `factors`
    multiply it row by row over one cycle of sections."""
    row_um = tuple(max(1, round(1e6 * stitch_m * factor)) for factor in factors)
    start = [0]
    for um in row_um:
        start.append(start[-1] + um * stitches)
    return StitchLengths(stitches, row_um, tuple(start))


@dataclass(frozen=True, slots=True)
class BothEnds:
    """The same for a blanket of `end` stitches knitted from both ends to its middle.

    Sections follow each other from the cast-on edge, so that the two halves need not
    take the same; what each stitch of the first half uses includes its mirror image.
    """

    lengths: StitchLengths
    end: int

    @property
    def stitches(self) -> int:
        return self.lengths.stitches

    @property
    def middle(self) -> int:
        return self.end // 2

    def mm_at(self, stitch: int) -> int:
        """Millimetres of each strand in the first and the last `stitch` stitches."""
        if stitch >= self.middle:  # with the odd stitch in the very middle
            return self.lengths.mm_at(self.end)
        used, all_mm = self.lengths.mm_at, self.lengths.mm_at(self.end)
        return used(stitch) + all_mm - used(self.end - stitch)

    def stitch_at(self, mm: int) -> int:
        """The most stitches at either end that `mm` millimetres will make; past the
        middle, where nothing is knitted, by what the blanket takes on average."""
        whole = self.mm_at(self.middle)
        if mm >= whole:
            return self.middle + (mm - whole) * self.middle // max(1, whole)
        low, high, low_mm, high_mm = 0, self.middle, 0, whole
        for tries in count():  # as if yarn went evenly; every fourth time by halves
            if high - low <= 1:
                break
            part = (mm - low_mm) / (high_mm - low_mm) if tries % 4 < 3 else 0.5
            at = min(max(low + int(part * (high - low)), low + 1), high - 1)
            at_mm = self.mm_at(at)
            if at_mm <= mm:
                low, low_mm = at, at_mm
            else:
                high, high_mm = at, at_mm
        return low
