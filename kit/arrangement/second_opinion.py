"""A second opinion on the steps: straight distances in CAM16-UCS instead of CIEDE2000.

Li et al. 2017, Color Res. Appl. 42:703, "Comprehensive color solutions: CAM16, CAT16,
and CAM16-UCS", as colour-science computes it. Unlike CIEDE2000 it is a metric.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from kit.arrangement.design import Design
from kit.arrangement.suggestions import N_WORST
from kit.blanket import Yarn
from kit.blanket.choices import Judging
from kit.colour import Mix, mean_lab
from kit.colour.difference import at_view
from kit.colour.spaces import WHITE_D65, lab_to_xyz
from kit.colour.transport import transport_cost
from kit.errors import shorten

# Ours: a well lit room (500 lux, so 500 / pi cd/m2 off white, a fifth of it off what is
# around), an average surround, a middle grey behind the yarn.
ADAPTING_CD_M2, BACKGROUND = 500 / np.pi / 5, 20.0
ALMOST = 0.02  # of the largest: steps so near to each other share their place


@dataclass(frozen=True, slots=True)
class Opinion:
    """Each pair of neighbours once, with its step both ways.

    `sizes` in dE00, `others` in CAM16-UCS units; `agreement`: Spearman's rank
    correlation of the two, None where there is none to speak of.
    """

    pairs: tuple[tuple[Yarn, Yarn], ...]
    sizes: tuple[float, ...]
    others: tuple[float, ...]
    agreement: float | None


def cam16_ucs(labs: np.ndarray) -> np.ndarray:
    """CIELAB D65 (n, 3) to CAM16-UCS J', a', b' (n, 3), by colour-science."""
    from colour.appearance import VIEWING_CONDITIONS_CAM16, XYZ_to_CAM16  # late: slow
    from colour.models import JMh_CAM16_to_CAM16UCS

    surround = VIEWING_CONDITIONS_CAM16["Average"]
    xyz100 = 100 * lab_to_xyz(np.asarray(labs, dtype=float))
    seen = XYZ_to_CAM16(xyz100, 100 * WHITE_D65, ADAPTING_CD_M2, BACKGROUND, surround)
    jmh = np.stack([np.asarray(part) for part in (seen.J, seen.M, seen.h)], axis=-1)
    return np.asarray(JMh_CAM16_to_CAM16UCS(jmh))


def steps_by_cam16(
    ones: Sequence[Mix], twos: Sequence[Mix], *, view: float
) -> np.ndarray:
    """The step (1 - view) near + view far of each pair, in CAM16-UCS units, (n,)."""
    if not ones:
        return np.empty(0)
    mixes = list(dict.fromkeys([*ones, *twos]))
    labs = [lab for mix in mixes for lab in (*mix.labs, mean_lab(mix))]
    seen, at = cam16_ucs(np.array(labs)), 0
    places: dict[Mix, np.ndarray] = {}
    for mix in mixes:
        places[mix] = seen[at : at + len(mix.labs) + 1]
        at += len(mix.labs) + 1
    return np.array(
        [
            _step(places[one], places[two], one, two, view)
            for one, two in zip(ones, twos, strict=True)
        ]
    )


def _step(
    here: np.ndarray, there: np.ndarray, one: Mix, two: Mix, view: float
) -> float:
    cost = np.linalg.norm(here[:-1, None] - there[None, :-1], axis=-1)
    shares = np.array([one.shares]), np.array([two.shares])
    near = float(transport_cost(cost[None], *shares)[0])
    far = float(np.linalg.norm(here[-1] - there[-1]))
    return at_view(view, near, far)


def second_opinion(design: Design, judging: Judging) -> Opinion:
    """The blanket's steps that count, each pair once, measured both ways."""
    yarns, steps = design.laid.yarns, design.steps
    places = [at[0] for at in design.laid.gaps.values() if steps[at[0]].counts]
    pairs = tuple((yarns[k], yarns[k + 1]) for k in places)
    sizes = tuple(steps[k].size for k in places)
    mixes = [[pair[side].mix for pair in pairs] for side in (0, 1)]
    others = tuple(steps_by_cam16(*mixes, view=judging.view).tolist())
    return Opinion(pairs, sizes, others, agreement(sizes, others))


def agreement(one: Sequence[float], two: Sequence[float]) -> float | None:
    """Spearman's rank correlation, -1 to 1; None of fewer than three or all alike."""
    if len(one) < 3 or len(set(one)) == 1 or len(set(two)) == 1:
        return None
    return float(np.corrcoef(_places_of(one), _places_of(two))[0, 1])


def _places_of(sizes: Sequence[float]) -> np.ndarray:
    """The place of each by size, from 1; equal ones share the mean of theirs.

    >>> _places_of([5.0, 2.0, 5.0]).tolist()
    [2.5, 1.0, 2.5]
    """
    _, which, counts = np.unique(sizes, return_inverse=True, return_counts=True)
    return (np.cumsum(counts) - (counts - 1) / 2)[which]


# --- in words -------------------------------------------------------------------------


def opinion_lines(opinion: Opinion) -> list[str]:
    """Where the two differ on the worst steps, in words."""
    if not opinion.pairs:
        return ["No step counts, so there is nothing to measure a second time."]
    ours, theirs = _ranked(opinion.sizes), _ranked(opinion.others)
    lines = [_on_the_worst(opinion, ours[0], theirs[0])]
    worst, other = ours[:N_WORST], theirs[:N_WORST]
    if len(ours) > N_WORST:
        same = len(set(worst) & set(other))
        lines.append(
            f"Of the {N_WORST} worst steps by either way {same or 'none'} are the same."
        )
        for k in other:
            if k not in worst:
                lines.append(f"{_place(opinion, k, ours, theirs)}: worse by CAM16-UCS.")
        for k in worst:
            if k not in other:
                lines.append(f"{_place(opinion, k, ours, theirs)}: worse by ΔE00.")
    if opinion.agreement is not None:
        lines.append(
            f"Over all {len(ours)} steps the two orders agree with a rank correlation "
            f"of {opinion.agreement:.2f} (1 is the same order)."
        )
    return lines


def _ranked(sizes: Sequence[float]) -> list[int]:
    return sorted(range(len(sizes)), key=lambda k: (-sizes[k], k))


def _on_the_worst(opinion: Opinion, ours: int, theirs: int) -> str:
    size, other = opinion.sizes[ours], opinion.others[theirs]
    if ours == theirs:
        return (
            f"Both ways {_pair(opinion, ours)} is the worst step: {size:.1f} ΔE00, "
            f"{other:.1f} in the smaller units of CAM16-UCS."
        )
    near = opinion.others[ours] >= (1 - ALMOST) * other
    hardly = ", if hardly" if near else ""
    return (
        f"By ΔE00 the worst step is {_pair(opinion, ours)} ({size:.1f}); in CAM16-UCS "
        f"it is {_pair(opinion, theirs)} ({other:.1f} against "
        f"{opinion.others[ours]:.1f}{hardly})."
    )


def _pair(opinion: Opinion, k: int) -> str:
    one, two = opinion.pairs[k]
    return f'"{shorten(one.name)}" → "{shorten(two.name)}"'


def _place(opinion: Opinion, k: int, ours: Sequence[int], theirs: Sequence[int]) -> str:
    return (
        f"{_pair(opinion, k)} is number {ours.index(k) + 1} by ΔE00 "
        f"({opinion.sizes[k]:.1f}) and {theirs.index(k) + 1} by CAM16-UCS "
        f"({opinion.others[k]:.1f})"
    )
