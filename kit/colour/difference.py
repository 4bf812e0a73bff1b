"""How far apart two colours, or two mixes of colours, look.

CIEDE2000 (ISO/CIE 11664-6) for single colours; for mixes near (in the hand) the
earth-mover's distance with CIEDE2000 as ground cost, and far (across the room)
CIEDE2000 between the two averages.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TypeVar

import numpy as np

from kit.colour.spaces import Lab, Mix, mean_lab

BLOCK = 128  # rows of a table computed at a time, so that its arrays stay in cache
LEAST_SHARE = 1e-12
Sizes = TypeVar("Sizes", float, np.ndarray)  # dE00
TINY = 1e-300  # in place of 0 under a fraction
COS_30, SIN_30, COS_6, SIN_6, COS_63, SIN_63 = (
    float(part(np.radians(angle))) for angle in (30, 6, 63) for part in (np.cos, np.sin)
)


def ciede2000_terms(lab_1: np.ndarray, lab_2: np.ndarray) -> tuple[np.ndarray, ...]:
    """The weighted terms of CIEDE2000, kL = kC = kH = 1; arguments broadcast.

    Returns (lightness, chroma, hue, rotation): signed differences from 1 to 2 over
    their weighting functions, and R_T; dE00^2 = l^2 + c^2 + h^2 + R_T c h.
    Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1):21-30, equations 2-22. Fair for
    small differences of object colours; it is not a metric (the triangle inequality
    can fail), and it jumps a little where two hues lie 180 degrees apart.
    """
    lab_1, lab_2 = np.asarray(lab_1, dtype=float), np.asarray(lab_2, dtype=float)
    L_1, a_1, b_1 = lab_1[..., 0], lab_1[..., 1], lab_1[..., 2]
    L_2, a_2, b_2 = lab_2[..., 0], lab_2[..., 1], lab_2[..., 2]
    stretch = 1.5 - 0.5 * _strength((np.hypot(a_1, b_1) + np.hypot(a_2, b_2)) / 2)
    a_1, a_2 = stretch * a_1, stretch * a_2
    C_1, C_2 = np.sqrt(a_1 * a_1 + b_1 * b_1), np.sqrt(a_2 * a_2 + b_2 * b_2)
    C_mean, off = (C_1 + C_2) / 2, (L_1 + L_2) / 2 - 50
    off = off * off
    T, turn = _of_mean_hue(a_1, b_1, C_1, a_2, b_2, C_2)
    S_L = 1 + 0.015 * off / np.sqrt(20 + off)
    S_C = 1 + 0.045 * C_mean
    S_H = 1 + 0.015 * C_mean * T
    R_T = -2 * np.sin(2 * turn) * _strength(C_mean)
    dH = _hue_difference(a_1, b_1, C_1, a_2, b_2, C_2)
    return (L_2 - L_1) / S_L, (C_2 - C_1) / S_C, dH / S_H, R_T


def _strength(chroma: np.ndarray) -> np.ndarray:
    """sqrt(C^7 / (C^7 + 25^7)); products are far quicker than a power of 7."""
    cube = chroma * chroma * chroma
    seventh = cube * cube * chroma
    return np.sqrt(seventh / (seventh + 25.0**7))


def ciede2000(lab_1: np.ndarray, lab_2: np.ndarray) -> np.ndarray:
    """CIEDE2000 between CIELAB colours; arguments (..., 3) broadcast.

    >>> float(ciede2000([50, 2.5, 0], [73, 25, -18]).round(4))
    27.1492
    """
    lightness, chroma, hue, rotation = ciede2000_terms(lab_1, lab_2)
    square = lightness**2 + chroma**2 + hue**2 + rotation * chroma * hue
    return np.sqrt(np.maximum(square, 0))


def ciede2000_table(labs_1: np.ndarray, labs_2: np.ndarray) -> np.ndarray:
    """CIEDE2000 of every colour of `labs_1` (n, 3) with every of `labs_2` (m, 3)."""
    labs_1, labs_2 = np.asarray(labs_1, dtype=float), np.asarray(labs_2, dtype=float)
    table = np.empty((len(labs_1), len(labs_2)))
    same = labs_1.shape == labs_2.shape and bool((labs_1 == labs_2).all())
    for i in range(0, len(labs_1), BLOCK):
        for j in range(i if same else 0, len(labs_2), BLOCK):
            rows, columns = labs_1[i : i + BLOCK, None], labs_2[None, j : j + BLOCK]
            block = ciede2000(rows, columns)
            table[i : i + BLOCK, j : j + BLOCK] = block
            if same and j > i:  # the other half is its mirror image, to the last bit
                table[j : j + BLOCK, i : i + BLOCK] = block.T
    return table


def _of_mean_hue(a_1, b_1, C_1, a_2, b_2, C_2):
    """T and the blue region's turn (radians), from the direction of the mean hue.

    The mean hue is that of the sum of the two unit vectors, so the cosines of its
    multiples are polynomials. A colour without chroma has no hue and leaves the other's
    as the mean. Hues exactly opposite have no mean direction: there the standard halves
    the sum of the angles.
    """
    unit_1, unit_2 = np.maximum(C_1, TINY), np.maximum(C_2, TINY)
    across, up = a_1 / unit_1 + a_2 / unit_2, b_1 / unit_1 + b_2 / unit_2
    long = np.sqrt(across * across + up * up)
    opposite = (long < 1e-7) & (C_1 * C_2 > 0)
    long = np.maximum(long, TINY)
    cos, sin = across / long, up / long
    if np.any(opposite):
        angles = np.arctan2(b_1, a_1) % (2 * np.pi) + np.arctan2(b_2, a_2) % (2 * np.pi)
        cos = np.where(opposite, np.cos(angles / 2), cos)
        sin = np.where(opposite, np.sin(angles / 2), sin)
    cos_2, sin_2 = 2 * cos * cos - 1, 2 * sin * cos
    T = (
        1
        - 0.17 * (COS_30 * cos + SIN_30 * sin)
        + 0.24 * cos_2
        + 0.32
        * (COS_6 * (cos_2 * cos - sin_2 * sin) - SIN_6 * (sin_2 * cos + cos_2 * sin))
        - 0.20 * (COS_63 * (2 * cos_2 * cos_2 - 1) + SIN_63 * 2 * sin_2 * cos_2)
    )
    hue = np.degrees(np.arctan2(sin, cos))
    away = (hue + 360.0 * (hue < 0) - 275) / 25
    return T, np.radians(30) * np.exp(-away * away)


def _hue_difference(a_1, b_1, C_1, a_2, b_2, C_2):
    """dH' = 2 sqrt(C1 C2) sin(dh/2), signed, from products instead of angles.

    Either form loses digits where the other is sound: the quotient near opposite hues,
    the root near equal ones. Of two hues exactly opposite the second lies ahead unless
    its angle is the smaller one, so that the difference turns its sign with the pair.
    """
    cross, dot = a_1 * b_2 - a_2 * b_1, a_1 * a_2 + b_1 * b_2
    product = C_1 * C_2
    alike = np.maximum(product + dot, TINY)
    apart = np.sqrt(np.maximum(2 * (product - dot), 0))
    second_half = (b_1 < 0) | ((b_1 == 0) & (a_1 < 0))
    signed = np.where((cross < 0) | ((cross == 0) & second_half), -apart, apart)
    return np.where(dot > 0, cross * np.sqrt(2 / alike), signed)


# --- mixes ----------------------------------------------------------------------------


def far_steps(mixes_1: Sequence[Mix], mixes_2: Sequence[Mix]) -> np.ndarray:
    """Across the room: CIEDE2000 between the averages, pair by pair, shape (n,)."""
    if not mixes_1:
        return np.empty(0)
    means_1 = np.array([mean_lab(mix) for mix in mixes_1])
    return ciede2000(means_1, np.array([mean_lab(mix) for mix in mixes_2]))


def near_steps(mixes_1: Sequence[Mix], mixes_2: Sequence[Mix]) -> np.ndarray:
    """In the hand: earth-mover's distance with CIEDE2000 as ground cost, (n,).

    With a solid on either side it is the share-weighted mean of CIEDE2000.
    """
    near = np.empty(len(mixes_1))
    shapes: dict[tuple[int, int], list[int]] = {}
    for i, (one, two) in enumerate(zip(mixes_1, mixes_2, strict=True)):
        shapes.setdefault((len(one.labs), len(two.labs)), []).append(i)
    for (m, n), members in shapes.items():
        labs_1 = np.array([mixes_1[i].labs for i in members]).reshape(-1, m, 1, 3)
        labs_2 = np.array([mixes_2[i].labs for i in members]).reshape(-1, 1, n, 3)
        shares_1 = np.array([mixes_1[i].shares for i in members])
        shares_2 = np.array([mixes_2[i].shares for i in members])
        near[members] = transport(ciede2000(labs_1, labs_2), shares_1, shares_2)
    return near


def at_view(view: float, near: Sizes, far: Sizes) -> Sizes:
    """(1 - view) near + view far, any shape: what is called a step (our convention).

    `view` runs from 0, in the hand, to 1, across the room. ValueError outside.

    >>> at_view(0.5, 10.0, 2.0)
    6.0
    """
    if not 0 <= view <= 1:
        raise ValueError(f"view is {view:g}; it runs from 0 to 1")
    return (1 - view) * near + view * far


def pair_steps(
    mixes_1: Sequence[Mix], mixes_2: Sequence[Mix], *, view: float
) -> np.ndarray:
    """The step (1 - view) near + view far, pair by pair, shape (n,)."""
    near, far = near_steps(mixes_1, mixes_2), far_steps(mixes_1, mixes_2)
    return at_view(view, near, far)


def step_table(
    mixes_1: Sequence[Mix], mixes_2: Sequence[Mix], *, view: float
) -> np.ndarray:
    """The step (1 - view) near + view far of every pair, shape (n, m).

    The same tuple of mixes again costs nothing: near and far are remembered.
    """
    near, far = _near_and_far(tuple(mixes_1), tuple(mixes_2))
    return at_view(view, near, far)


@lru_cache(maxsize=32)
def _near_and_far(
    mixes_1: tuple[Mix, ...], mixes_2: tuple[Mix, ...]
) -> tuple[np.ndarray, np.ndarray]:
    means_1 = np.array([mean_lab(mix) for mix in mixes_1]).reshape(-1, 3)
    means_2 = np.array([mean_lab(mix) for mix in mixes_2]).reshape(-1, 3)
    far = ciede2000_table(means_1, means_2)
    near = far.copy()
    many_1 = [i for i, mix in enumerate(mixes_1) if len(mix.labs) > 1]
    many_2 = [j for j, mix in enumerate(mixes_2) if len(mix.labs) > 1]
    same = mixes_1 == mixes_2
    pairs = [(i, j) for i in many_1 for j in range(len(mixes_2))]
    if same:  # half the table; the other half is its mirror image
        pairs = [(i, j) for i, j in pairs if j > i or len(mixes_2[j].labs) == 1]
    else:
        solids = (i for i, mix in enumerate(mixes_1) if len(mix.labs) == 1)
        pairs += [(i, j) for i in solids for j in many_2]
    if pairs:
        rows, columns = (list(side) for side in zip(*pairs, strict=True))
        near[rows, columns] = near_steps(
            [mixes_1[i] for i in rows], [mixes_2[j] for j in columns]
        )
        if same:
            near[columns, rows] = near[rows, columns]
    if same:
        np.fill_diagonal(near, 0)
        np.fill_diagonal(far, 0)
    near.flags.writeable = far.flags.writeable = False
    return near, far


def transport(cost: np.ndarray, supply: np.ndarray, demand: np.ndarray) -> np.ndarray:
    """Least cost of moving `supply` (p, m) onto `demand` (p, n) at `cost` (p, m, n).

    The earth-mover's distance where both sides add to 1: p small problems at once, each
    by shortest augmenting paths (Bellman-Ford on the residual network), exact to
    rounding. Returns shape (p,).
    """
    p, m, n = cost.shape
    if m == 1 or n == 1:
        return (cost * supply[:, :, None] * demand[:, None, :]).sum(axis=(1, 2))
    flow = np.zeros_like(cost)
    supply, demand = supply.copy(), demand.copy()
    open_ = np.arange(p)
    while open_.size:
        part = flow[open_], supply[open_], demand[open_]
        _augment(cost[open_], *part)
        flow[open_], supply[open_], demand[open_] = part
        unmet = np.minimum(part[1].max(axis=1), part[2].max(axis=1))
        open_ = open_[unmet > LEAST_SHARE]
    return (flow * cost).sum(axis=(1, 2))


def _augment(
    cost: np.ndarray, flow: np.ndarray, supply: np.ndarray, demand: np.ndarray
) -> None:
    """Send as much as fits along one cheapest path in each problem; edits in place."""
    each = np.arange(len(cost))
    to_target, from_source, via = _cheapest_paths(cost, flow, supply)
    target = np.where(demand > LEAST_SHARE, to_target, np.inf).argmin(axis=1)
    steps = [(from_source[each, target], target, each)]
    amount = demand[each, target]
    for _ in range(cost.shape[1]):  # a path visits a source once
        source, _, on = steps[-1]
        back = via[on, source]
        going = back >= 0
        amount[on] = np.where(
            going,
            np.minimum(amount[on], flow[on, source, np.maximum(back, 0)]),
            np.minimum(amount[on], supply[on, source]),
        )
        if not going.any():
            break
        on, back = on[going], back[going]
        steps.append((from_source[on, back], back, on))
    for k, (source, column, on) in enumerate(steps):
        flow[on, source, column] += amount[on]
        back = via[on, source]
        ends, goes = back < 0, back >= 0
        supply[on[ends], source[ends]] -= amount[on[ends]]
        flow[on[goes], source[goes], back[goes]] -= amount[on[goes]]
        if k == 0:
            demand[on, column] -= amount[on]


def _cheapest_paths(
    cost: np.ndarray, flow: np.ndarray, supply: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Bellman-Ford from every source with supply left.

    Returns, for each target, its distance and the source before it on the path, and for
    each source the target it is reached back from (-1 where the path starts).
    """
    at_source = np.where(supply > LEAST_SHARE, 0.0, np.inf)
    at_target = np.full((len(cost), cost.shape[2]), np.inf)
    via = np.full(supply.shape, -1)
    from_source = np.zeros(at_target.shape, dtype=int)
    for _ in range(cost.shape[1]):
        # Only a truly shorter way replaces the one before: a tie would close a circle.
        reach = at_source[:, :, None] + cost
        shorter = reach.min(axis=1) < at_target - 1e-9
        from_source = np.where(shorter, reach.argmin(axis=1), from_source)
        at_target = np.where(shorter, reach.min(axis=1), at_target)
        back = np.where(flow > LEAST_SHARE, at_target[:, None, :] - cost, np.inf)
        nearer = back.min(axis=2) < at_source - 1e-9
        if not nearer.any():
            break
        via = np.where(nearer, back.argmin(axis=2), via)
        at_source = np.where(nearer, back.min(axis=2), at_source)
    return at_target, from_source, via


@lru_cache(maxsize=50_000)
def spread(mix: Mix) -> float:
    """How busy a mix is: mean CIEDE2000 of its colours from its average; 0: solid."""
    mean: Lab = mean_lab(mix)
    return float(np.dot(ciede2000(np.array(mix.labs), np.array(mean)), mix.shares))
