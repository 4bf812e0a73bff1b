"""The yarns that may bridge, packed once however often they are asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np

from kit.arrangement.between import Gap
from kit.arrangement.catalogue import Steps, bounds, catalogue
from kit.blanket import Yarn
from kit.colour import Mix

MOST_KEPT = 200  # mixes whose steps to all candidates are remembered

Fits = Callable[[Yarn, int], bool]


class Candidates:
    """Yarns by name, with their steps to any mix worked out where they may count."""

    def __init__(self, yarns: Sequence[Yarn]) -> None:
        self.yarns = tuple(sorted(yarns, key=lambda yarn: yarn.name))
        self.listed = catalogue([yarn.mix for yarn in self.yarns])
        self._steps: dict[tuple[Mix, float], Steps] = {}

    def __len__(self) -> int:
        return len(self.yarns)

    def may(
        self, fits: Fits, n_places: int, without: Sequence[str] | set[str] = ()
    ) -> np.ndarray:
        """(n,) whether each may stand in so many places."""
        return np.array(
            [yarn.name not in without and fits(yarn, n_places) for yarn in self.yarns],
            dtype=bool,
        )

    def prepare(self, mixes: Sequence[Mix], *, view: float) -> list[Steps]:
        """The steps to several mixes, bounded at once."""
        # A dict of its own to read from: another thread may begin afresh meanwhile.
        kept = self._steps if len(self._steps) <= MOST_KEPT else {}
        new = [mix for mix in dict.fromkeys(mixes) if (mix, view) not in kept]
        if new:
            low = bounds(self.listed, catalogue(new), view=view)
            for k, mix in enumerate(new):
                kept[mix, view] = Steps(self.listed, mix, low[:, k], view=view)
        self._steps = kept
        return [kept[mix, view] for mix in mixes]

    def gap(self, one: Mix, two: Mix, may: np.ndarray, *, view: float) -> Gap:
        """The place between two mixes, to be bridged by those that may."""
        to_one, to_two = self.prepare((one, two), view=view)
        return Gap(self.listed, (to_one, to_two), may)

    def rank(
        self, ends: tuple[Mix, Mix], n: int, may: np.ndarray, *, view: float
    ) -> list[tuple[Yarn, float]]:
        """The n that leave the smallest step between two mixes, best first."""
        if not self.yarns:
            return []
        best = self.gap(*ends, may, view=view).singles(n)
        return [(self.yarns[k], step) for step, k in best]


class _Same:
    """A long list told apart by being the same object: comparing it takes as long as
    packing it."""

    def __init__(self, yarns: tuple[Yarn, ...]) -> None:
        self.yarns = yarns

    def __hash__(self) -> int:
        return id(self.yarns)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.yarns is other.yarns


def candidates_of(owned: Sequence[Yarn], shop: Sequence[Yarn] = ()) -> Candidates:
    """Yarns of the stash and of a shop list as candidates, remembered."""
    return _packed(tuple(owned), _Same(tuple(shop)))


@lru_cache(maxsize=4)
def _packed(owned: tuple[Yarn, ...], shop: _Same) -> Candidates:
    return Candidates((*owned, *shop.yarns))
