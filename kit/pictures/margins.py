"""What stands beside a picture of knitted rows: numbers, joins, sections, strands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from kit.blanket import Yarn
from kit.fabric import Stripe
from kit.pictures.paper import FAINT, MARGIN, WIDTH, Sheet, line, write
from kit.pictures.text import cut, legible
from kit.yarn import Section

LABEL, TEXT = 13.0, 10.5  # px: from one label to the next, and their letters
MOVED = 30.0  # px: how far a label may stand from its row


@dataclass(frozen=True, slots=True)
class RowArea:
    """Where a picture of rows stands on a sheet, px.

    `ends`: where its rows end, from 0 at its foot to 1, shape (rows + 1,). `first` is
    the number of its lowest row.
    """

    left: float
    top: float
    width: float
    height: float
    ends: np.ndarray
    first: int = 1

    @property
    def right(self) -> float:
        return self.left + self.width

    @property
    def foot(self) -> float:
        return self.top + self.height

    @property
    def rows(self) -> int:
        return len(self.ends) - 1

    def y(self, rows: float) -> float:
        """The height on the sheet at which so many rows of the fabric are knitted."""
        at = np.interp(rows - self.first + 1, np.arange(self.rows + 1), self.ends)
        return self.foot - float(at) * self.height


def row_ends(heights: np.ndarray) -> np.ndarray:
    """Where rows of these heights end, from 0 to 1."""
    ends = np.concatenate([[0.0], np.cumsum(heights)])
    return ends / ends[-1]


def rows_beside(
    sheet: Sheet, area: RowArea, every: int, middles: Sequence[float] = ()
) -> None:
    """Row numbers on the left: first, last and every so many, as far as they fit.

    `middles`: the rows knitted where the colours go back, with a longer line.
    """
    while every * area.height < 1.3 * LABEL * area.rows:
        every *= 2
    first, last = area.first, area.first + area.rows - 1
    ends = {first: area.y(first - 0.5), last: area.y(last - 0.5)}
    if len(ends) == 2 and ends[first] - ends[last] < LABEL:
        del ends[last]
    turns = [area.y(rows) for rows in middles]
    taken = [*ends.values(), *turns, *(y + LABEL for y in turns)]
    inner = {row: area.y(row - 0.5) for row in range(every, last + 1, every)}
    for row, y in inner.items():
        if row > first and all(abs(y - end) >= LABEL for end in taken):
            _row(sheet, area, y, f"{row}")
    for rows, y in zip(middles, turns, strict=True):
        line(sheet, (area.left - 14, area.left - 1), (y, y), width=2)
        for k, words in enumerate(("middle,", f"row {ceil(rows)}")):
            at = y + 4 + (k - 0.25) * LABEL
            write(sheet, area.left - 17, at, words, size=TEXT, align="right",
                  bold=True, gid="middle")  # fmt: skip
    for row, y in ends.items():
        _row(sheet, area, y, f"row {row}")


def _row(sheet: Sheet, area: RowArea, y: float, words: str) -> None:
    line(sheet, (area.left - 6, area.left - 1), (y, y))
    write(sheet, area.left - 9, y + 4, words, size=TEXT, align="right", gid="row")


# --- joins ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Caption:
    """Words for a place along the fabric, where so many `rows` are knitted."""

    rows: float
    words: str


def changes(stripes: Sequence[Stripe]) -> list[Caption]:
    """What is joined where a stripe begins, else what ends: its row, tags and names."""
    labels: list[Caption] = []
    before: tuple[Yarn, ...] = ()
    for stripe in stripes:
        now = stripe.strands + stripe.carried
        words = names_of([yarn for yarn in now if yarn not in before])
        gone = names_of([yarn for yarn in before if yarn not in now])
        if words or gone:
            words = words or f"without {gone}"
            row = stripe.first_row
            labels.append(Caption(stripe.first / stripe.row, f"{row}: {words}"))
        before = now
    return labels


def names_of(yarns: Sequence[Yarn]) -> str:
    """Yarns by tag number and name, as far as the fonts can draw it."""
    names = [legible(yarn.name, otherwise=f"no. {yarn.no}") for yarn in yarns]
    return " + ".join(f"{y.no} {name}" for y, name in zip(yarns, names, strict=True))


def joins_beside(sheet: Sheet, area: RowArea, labels: Sequence[Caption]) -> None:
    """Labels on the right, each with a line to its row, moved apart where they are
    close. Those that would have to move too far are left out; their ticks stay."""
    x = area.right + 34
    for label in labels:
        y = area.y(label.rows)
        line(sheet, (area.right + 1, area.right + 7), (y, y), width=0.8)
    wanted = [area.y(label.rows) for label in labels]
    for k, y in apart(wanted, LABEL, MOVED, area.foot):
        xs = (area.right + 7, area.right + 27, x - 3)
        line(sheet, xs, (wanted[k], y, y), width=0.6, colour=FAINT)
        words = cut(labels[k].words, WIDTH - MARGIN - x, TEXT)
        write(sheet, x, y + 4, words, size=TEXT, gid="join")


def apart(
    wanted: Sequence[float], room: float, most: float, foot: float
) -> list[tuple[int, float]]:
    """Heights near those wanted and at least `room` apart: (index, height).

    `wanted` comes from the foot upwards (y downwards). Neighbours that meet share the
    space around their middle. Where one of them would move more than `most`, the one
    among them that stands closest to its neighbours is left out, and so on.

    >>> apart([100, 98, 50], 10, 30, 200)
    [(0, 104.0), (1, 94.0), (2, 50.0)]
    """
    kept = list(range(len(wanted)))
    while True:
        placed = _shared([wanted[k] for k in kept], room, foot)
        moves = [abs(y - wanted[k]) for k, y in zip(kept, placed, strict=True)]
        if not moves or max(moves) <= most:
            return list(zip(kept, placed, strict=True))
        low = high = int(np.argmax(moves))
        while low and placed[low - 1] - placed[low] < room + 1e-6:
            low -= 1
        while high + 1 < len(kept) and placed[high] - placed[high + 1] < room + 1e-6:
            high += 1
        gaps = [
            wanted[kept[max(k - 1, low)]] - wanted[kept[min(k + 1, high)]]
            for k in range(low + 1, high)
        ]
        del kept[low + 1 + int(np.argmin(gaps)) if gaps else high]


def _shared(wanted: Sequence[float], room: float, foot: float) -> list[float]:
    """All heights, groups that would meet spread around their common middle."""
    groups: list[tuple[float, int]] = []  # middle, how many
    for y in wanted:
        groups.append((y, 1))
        while True:
            middle, n = groups.pop()
            middle = min(middle, foot - (n - 1) / 2 * room)
            if not groups or groups[-1][0] - middle >= room * (groups[-1][1] + n) / 2:
                groups.append((middle, n))
                break
            low, n_low = groups.pop()
            groups.append(((low * n_low + middle * n) / (n_low + n), n_low + n))
    return [middle + ((n - 1) / 2 - k) * room for middle, n in groups for k in range(n)]


# --- brackets -------------------------------------------------------------------------


def sections_beside(sheet: Sheet, area: RowArea, sections: Sequence[Section]) -> None:
    """Sections as brackets on the far left, named where there is room."""
    x, at = area.left - 58, 0
    turns = -(-area.rows // sum(section.rows for section in sections))
    for section in list(sections) * turns:
        foot, end = area.y(at) - 1, min(at + section.rows, area.rows)
        top, at = area.y(end) + 1, end
        if foot - top > 1:
            line(sheet, (x + 4, x, x, x + 4), (foot, foot, top, top), width=0.8)
        if foot - top >= LABEL:
            name = legible(section.name, otherwise="section")
            name, y = cut(name, x - MARGIN - 5, TEXT), (foot + top) / 2 + 4
            write(sheet, x - 5, y, name, size=TEXT, align="right", gid="section")


def strands_beside(sheet: Sheet, area: RowArea, stripes: Sequence[Stripe]) -> None:
    """A bracket on the right over each stripe's rows, and the names of its strands."""
    x = area.right + 8
    for stripe in stripes:
        foot = area.y(stripe.first / stripe.row) - 1
        top = area.y(stripe.last / stripe.row) + 1
        if foot - top < 1:
            continue
        line(sheet, (x, x + 5, x + 5, x), (foot, foot, top, top), width=0.9)
        strands = stripe.strands + stripe.carried
        names = [names_of([yarn]) for yarn in strands]
        room = int((foot - top + 4) / LABEL)
        if room < len(names):
            names = [names_of(strands)] if room else []
        first = (foot + top) / 2 + 4 - (len(names) - 1) / 2 * LABEL
        for k, name in enumerate(names):
            words = cut(name, WIDTH - MARGIN - x - 12, TEXT)
            write(sheet, x + 12, first + k * LABEL, words, size=TEXT, gid="strands")
