"""A knitter for tests: knows the true balls and the true yarn in a stitch, knits a
written plan row by row, and weighs and logs as asked. Written without the kit's chains:
only rows, millimetres and what stands in the schedule.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from kit.fabric import rows_to_knit
from kit.fabric.schedule import weight_g
from kit.fabric.setup import BIND_OFF_ROWS, CAST_ON_ROWS, set_up
from kit.fabric.tolerance import USUAL, day_limit, label_limit, pace_doubts, standard
from kit.needles.log import EMPTY, LOG, Log, log_text, read_log, with_line

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


class Left(dict):
    """Metres left of every ball by its name, all parts of it.

    later  parts wound off before casting on that wait, in their order
    on     the part that is on the needle
    """

    def __init__(self, metres):
        super().__init__(metres)
        self.later = {name: list(m) for name, m in getattr(metres, "later", {}).items()}
        self.on = dict(getattr(metres, "on", {}))

    def loose(self, name):
        """What is neither wound off for later nor on the needle."""
        return self[name] - sum(self.later.get(name, ())) - self.on.get(name, 0.0)


@dataclass
class Knitter:
    """Knits `plan` in the world `truth`, from row `row`, with balls as `left` says.

    A ball that comes round again is parted before casting on: every later part is
    wound off by the kitchen scale to the grams of the winding list, the first is what
    remains. A part that ends leaves what is left of it aside.
    """

    plan: object
    truth: Truth
    rng: random.Random
    base: object  # choices of blanket.toml: the yarn in a stitch that truth is against
    row: int = 0
    left: dict[str, float] = field(default_factory=dict)
    joins: list = field(default_factory=list)  # (yarn, row, instead of)
    ends: dict = field(default_factory=dict)  # part -> rows knitted when it ended
    begun: dict = field(default_factory=dict)  # part -> rows knitted when it was joined
    lasted: float | None = None  # rows the yarn lasted for
    damp: float = 0.0

    def __post_init__(self):
        fabric = self.plan.fabric
        self.width = fabric.stitches
        line = set_up(self.base.making).lengths
        self.row_m = [
            (line.mm_at((r + 1) * self.width) - line.mm_at(r * self.width)) / 1000
            for r in range(2 * fabric.rows + 50)
        ]
        self.entries = rows_to_knit(fabric, self.plan.choices)
        self.parts = [c.part for e in self.entries for c in e.joins]
        self.left = Left(self.left or self.truth.metres)
        if not self.left.later:
            self.wind()
        self.goes, self.next, self.held, self.alone = {}, {}, {}, {}
        for k, entry in enumerate(self.entries):
            self.read(entry, k)
        self.kept = {part: self.keeps(part) for part in self.parts}
        first = self.row * self.width
        for part in self.parts:
            if self.is_on(part, first):
                self.held[part] = self.begun[part] = part.first / self.width
                self.take(part)
        if self.row == 0:
            for part in self.held:
                self.knit(part, CAST_ON_ROWS, 0)

    def is_on(self, part, at):
        """Whether a part is on the needle there, one that the plan ends at once too."""
        if part.first == at == 0:
            return True
        ends_at_once = part.last == at and part.yarn.name in self.plan.start.held
        return part.first < at and (at < part.last or ends_at_once)

    def keeps(self, part):
        """A tail; and four rows' yarn where the part is bound off, as the plan says."""
        kind, _ = self.goes.get(part, ("bind off", 0))
        rows = BIND_OFF_ROWS if kind == "bind off" else 0
        return 0.3 + rows * self.need(part, 0)

    def wind(self):
        """Part the balls that come round again; on the way only what is to come."""
        now = self.row * self.width
        for part in self.parts:
            if part.number == 1 or part.first <= now:
                continue
            name = part.yarn.name
            shown_g = weight_g(part.yarn, part.mm)
            true_g = shown_g + self.rng.gauss(0, standard(USUAL.scale_g))
            metres = min(true_g / self.truth.grams_per_m[name], self.left.loose(name))
            self.left.later.setdefault(name, []).append(max(0.0, metres))

    def read(self, entry, k):
        """One line of the schedule: what ends there, and what is joined after it."""
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
            if not after and part.first > self.row * self.width:
                self.alone[part] = part.first / self.width

    def take(self, part):
        """A part into the hand: the one wound off, the last with all the rest."""
        name, left = part.yarn.name, self.left
        waiting = left.later.get(name, [])
        own = [one.number for one in self.parts if one.yarn == part.yarn]
        n = max(0, len(waiting) - sum(number > part.number for number in own))
        metres = left.on.pop(name, 0.0)
        if not metres and (part.number == 1 or not waiting):
            metres = left.loose(name)
        elif not metres:
            n = max(n, 1)
        left.on[name] = metres + sum(waiting[:n])
        del waiting[:n]

    def knit(self, part, rows, row):
        metres = rows * self.need(part, row)
        self.left[part.yarn.name] -= metres
        self.left.on[part.yarn.name] -= metres

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
                usable = self.left.on[part.yarn.name] - self.kept[part]
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
            soon = min(self.alone, key=self.alone.__getitem__, default=None)
            comes = soon is not None and self.alone[soon] <= stop
            if comes:
                stop, out = max(at, self.alone.pop(soon)), None
            for part in self.held:
                self.knit(part, stop - at, row)
            at = stop
            if comes:
                self.join(soon, at, "")
            if out is not None:
                self.change(out, at)
        self.row = max(self.row, min(until, int(at + 1e-9)))

    def change(self, out, at):
        self.ends[out] = at
        del self.held[out]
        del self.left.on[out.yarn.name]
        if self.goes.get(out, ("bind off",))[0] == "bind off":
            self.lasted = at
            return
        for part in self.next.get(out, ()):
            self.join(part, at, out.yarn.name)
        if not self.held:
            self.lasted = at

    def join(self, part, at, instead_of):
        if part in self.held or part in self.ends:
            return
        self.held[part] = self.begun[part] = at
        self.take(part)
        self.joins.append((part.yarn.name, int(at) + 1, instead_of))

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
