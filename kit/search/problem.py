"""What to put in order, what an order costs, and which orders are allowed.

Numbers only. Things are numbered from light to dark, so the order 0, 1, 2, … is always
allowed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

Order = tuple[int, ...]
SAME = 1e-9  # costs closer than this count as equal
RUNNERS_UP = 6  # the power that makes the steps next to the largest weigh more


@dataclass(frozen=True)
class Problem:
    """What to put in order.

    `cost` (n, n) symmetric steps in dE00, inf where one is out of the question;
    `values` (n,) L*, falling; `slack`: i must come before j where values[i] - values[j]
    exceeds it (inf for no rule); `fixed_ends`: the order starts with 0 and ends with
    n - 1.
    """

    cost: np.ndarray
    values: tuple[float, ...]
    slack: float
    fixed_ends: bool

    @property
    def n(self) -> int:
        return len(self.values)

    @property
    def ruled(self) -> bool:
        """Whether there is a value rule."""
        return self.slack < math.inf

    @cached_property
    def rows(self) -> list[list[float]]:
        """The costs as lists, with a free row for the stands beyond free ends."""
        padded = np.zeros((self.n + 1, self.n + 1))
        padded[: self.n, : self.n] = self.cost
        return padded.tolist()

    @cached_property
    def before(self) -> np.ndarray:
        """(n, n) bool: i must come before j, by the value rule."""
        V = np.array(self.values)
        return V[:, None] - V[None, :] > self.slack

    @cached_property
    def reach(self) -> np.ndarray:
        """(n,) the last thing that may come before each, or itself."""
        return (~self.before).sum(axis=1) - 1

    @property
    def window(self) -> int:
        """How many things may be open at a time, by the value rule."""
        return int((self.reach - np.arange(self.n)).max(initial=0))

    @cached_property
    def may_follow(self) -> np.ndarray:
        """(n, n) bool: j may come directly after i in some allowed order."""
        before = self.before
        # Somebody must stand between i and j: darker than i by more than the slack and
        # lighter than j by more than it. Both are whole stretches of the things.
        n_above = before.sum(axis=0)[None, :]
        n_upto = (~before).sum(axis=1)[:, None]
        allowed = ~before.T & ~(n_upto < n_above)
        np.fill_diagonal(allowed, False)
        if self.fixed_ends and self.n > 1:
            allowed[:, 0] = allowed[self.n - 1, :] = False
            allowed[0, self.n - 1] = self.n == 2
        return allowed

    @cached_property
    def levels(self) -> np.ndarray:
        """The costs of steps that may be taken, each once, rising."""
        may = self.may_follow | self.may_follow.T
        return np.unique(self.cost[may & np.isfinite(self.cost)])

    def level_of(self, size: float) -> int:
        """Which of the `levels` a largest step is."""
        return int(np.searchsorted(self.levels, size - SAME))

    def largest(self, order: Sequence[int]) -> float:
        pairs = zip(order, order[1:], strict=False)
        return max((self.rows[i][j] for i, j in pairs), default=0.0)

    def total(self, order: Sequence[int]) -> float:
        return sum(self.rows[i][j] for i, j in zip(order, order[1:], strict=False))

    def weighed(self, limit: float) -> Problem:
        """The same with no step over `limit`, and each as heavy as it is plus
        `limit` times its share of `limit` to the 6th power.

        So the sum counts, and lowering a step of nearly `limit` by a tenth is worth
        four tenths of `limit` more in all.
        """
        share = self.cost / (limit or 1.0)
        cost = self.cost + (limit or 1.0) * share**RUNNERS_UP
        return replace(self, cost=np.where(self.cost <= limit + SAME, cost, np.inf))


def keeps_value_rule(values: Iterable[float], slack: float) -> bool:
    """Whether L* along an order never rises by more than `slack` over one before it.

    >>> keeps_value_rule([90, 70, 75, 60], 5), keeps_value_rule([90, 70, 76, 60], 5)
    (True, False)
    """
    darkest = math.inf
    for value in values:
        if value - darkest > slack:
            return False
        darkest = min(darkest, value)
    return True
