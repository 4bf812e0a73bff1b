"""A knitter for tests: knows the true balls and the true yarn in a stitch, knits a
written plan row by row, and weighs and logs as asked. Written without the kit's chains:
only rows, millimetres and what stands in the schedule.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from kit.loom import CAST_ON_ROWS, set_up
from kit.needle_log import EMPTY, LOG, Log, log_text, read_log, with_line
from kit.schedule import rows_to_knit, weight_g
from kit.tolerance import USUAL, day_limit, label_limit, pace_doubts, standard

ROWS_APART = 4  # a break-off waits so many rows after its own join


@dataclass
class Truth:
    """What no one knows: true metres, grams in a metre and pace of every ball."""

    pace: float
    metres: dict[str, float]
    grams_per_m: dict[str, float]
    stretch: dict[str, float]  # how one ball's stretches differ in tension


def drawn_truth(yarns, choices, rng: random.Random) -> Truth:
    """A world drawn from the stated doubts, each of them normal and on its own."""
    doubts = pace_doubts(choices.making, yarns).values()
    pace = 1 + sum(rng.gauss(0, doubt) for doubt in doubts)
    metres, per_m, stretch = {}, {}, {}
    for yarn in yarns:
        scale = rng.gauss(0, standard(USUAL.scale_g)) / yarn.grams
        label = rng.gauss(0, standard(label_limit(yarn)))
        metres[yarn.name] = yarn.metres * (1 + scale - label)
        per_m[yarn.name] = weight_g(yarn, 1000.0) * (1 + label)
        stretch[yarn.name] = rng.gauss(0, standard(USUAL.tension))
    return Truth(pace, metres, per_m, stretch)


@dataclass
class Knitter:
    """Knits `plan` in the world `truth`, from row `row`, with balls as `left` says."""

    plan: object
    truth: Truth
    rng: random.Random
    base: object  # choices of blanket.toml: the yarn in a stitch that truth is against
    row: int = 0
    left: dict[str, float] = field(default_factory=dict)
    joins: list = field(default_factory=list)  # (yarn, row, instead of)
    ends: dict = field(default_factory=dict)  # part -> rows knitted when it ended
    lasted: float | None = None  # rows the yarn lasted for
    damp: float = 0.0

    def __post_init__(self):
        fabric = self.plan.fabric
        self.width = fabric.stitches
        line = set_up(self.base.making).line
        self.row_m = [
            (line.mm_at((r + 1) * self.width) - line.mm_at(r * self.width)) / 1000
            for r in range(2 * fabric.rows + 50)
        ]
        self.left = self.left or dict(self.truth.metres)
        self.entries = rows_to_knit(fabric, self.plan.choices)
        self.goes, self.next, self.kept, self.held = {}, {}, {}, {}
        parts = [c.part for e in self.entries for c in e.joins]
        first = self.row * self.width
        for k, entry in enumerate(self.entries):
            gone = [c for c in entry.ends if c.kind != "lay down"]
            comes = self.entries[k + 1].joins if k + 1 < len(self.entries) else ()
            comes = [c.part for c in comes if c.kind == "join"]
            for change in gone:
                self.goes[change.part] = (change.kind, change.part.last / self.width)
            for j, part in enumerate(comes):
                if gone and len(comes) >= len(gone):
                    after = [gone[min(j, len(gone) - 1)]]
                else:
                    after = gone
                for change in after:
                    self.next.setdefault(change.part, []).append(part)
        for part in parts:
            self.kept[part] = 0.3
            if part.first <= first < part.last:
                self.held[part] = part.first / self.width
        if self.row == 0:
            for part in self.held:
                edge = CAST_ON_ROWS * self.need(part, 0)
                self.left[part.yarn.name] -= edge

    def need(self, part, row):
        name = part.yarn.name
        return self.row_m[row] * (self.truth.pace + self.truth.stretch[name])

    def knit_to(self, until: int) -> None:
        """Knit on, row by row and within a row from change to change."""
        at = float(self.row)
        while at < until and self.lasted is None:
            row = int(at)
            stop = min(until, row + 1)
            out = None
            for part, since in self.held.items():
                usable = self.left[part.yarn.name] - self.kept[part]
                empty = at + max(0.0, usable) / self.need(part, row)
                kind, planned = self.goes.get(part, ("bind off", 1e9))
                if kind == "break off":
                    due = max(
                        planned,
                        since + min(ROWS_APART, planned - part.first / self.width),
                    )
                    empty = min(empty, max(due, at))
                if empty < stop:
                    stop, out = empty, part
            for part in self.held:
                self.left[part.yarn.name] -= (stop - at) * self.need(part, row)
            at = stop
            if out is not None:
                self.change(out, at)
        self.row = max(self.row, min(until, int(at + 1e-9)))

    def change(self, out, at):
        self.ends[out] = at
        del self.held[out]
        if self.goes.get(out, ("bind off",))[0] == "bind off":
            self.lasted = at
            return
        for part in self.next.get(out, ()):
            if part in self.held or part in self.ends:
                continue
            self.held[part] = at
            self.joins.append((part.yarn.name, int(at) + 1, out.yarn.name))

    def weather(self) -> None:
        """Another day: the air is damper or drier, for all balls alike."""
        self.damp = self.rng.gauss(0, 1)

    def scale(self, name: str) -> float:
        """What the kitchen scale shows of a yarn today, to a tenth of a gram."""
        yarn = next(y for y in self.plan.stash.yarns if y.name == name)
        true_g = self.left[name] * self.truth.grams_per_m[name]
        damp = self.damp * standard(day_limit(yarn))
        shown = true_g * (1 + damp) + self.rng.gauss(0, standard(USUAL.scale_g))
        return round(max(0.0, shown), 1)


def as_log(lines, yarns) -> Log:
    """A log of dicts of cells."""
    log = EMPTY
    for cells in lines:
        log = read_log(log_text(Log((), with_line(log, cells))).encode(), yarns)
    return log


__all__ = ["EMPTY", "LOG", "Knitter", "Truth", "as_log", "drawn_truth"]
