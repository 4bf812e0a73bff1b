"""A largest step that no order can beat, read off the graph of steps, and why."""

from __future__ import annotations

import numpy as np

from kit.search.problem import SAME, Problem

Parts = tuple[tuple[int, ...], ...]


def lower_bound(problem: Problem) -> tuple[float, str, Parts]:
    """A largest step that no order can beat, why, and of which things it speaks.

    The smallest cost at which the graph of steps up to it hangs together, gives every
    thing enough neighbours, and has no thing that alone links three parts.
    """
    cost, levels = np.where(problem.may_follow, problem.cost, np.inf), problem.levels
    low, high = 0, len(levels) - 1
    while low < high:
        middle = (low + high) // 2
        if _obstacle(problem, cost, levels[middle]) is None:
            high = middle
        else:
            low = middle + 1
    if low == 0:
        return float(levels[0]), "nothing", ()
    why, parts = _obstacle(problem, cost, levels[low - 1]) or ("nothing", ())
    return float(levels[low]), why, parts


def _obstacle(
    problem: Problem, cost: np.ndarray, level: float
) -> tuple[str, Parts] | None:
    """What stands in the way of an order with all steps up to `level`, if anything."""
    steps = cost <= level + SAME
    links = steps | steps.T
    groups = _groups(links)
    if len(groups) > 1:
        first = min(groups, key=lambda group: (len(group), group))
        rest = tuple(i for i in range(problem.n) if i not in first)
        return "groups", (first, rest)
    return _too_few(problem, steps, links) or _cut_links(problem, links)


def _too_few(
    problem: Problem, steps: np.ndarray, links: np.ndarray
) -> tuple[str, Parts] | None:
    """Inner things need one neighbour before and another after; free ends but one."""
    inner = range(1, problem.n - 1) if problem.fixed_ends else range(problem.n)
    into, out, near = steps.sum(axis=0), steps.sum(axis=1), links.sum(axis=1)
    poor = [i for i in inner if near[i] < 2 or into[i] < 1 or out[i] < 1]
    spare = 0 if problem.fixed_ends else 2
    return ("neighbours", ((poor[0],),)) if len(poor) > spare else None


def _cut_links(problem: Problem, links: np.ndarray) -> tuple[str, Parts] | None:
    """A thing that alone links three parts, or two that both lie on its one side."""
    ends = {0, problem.n - 1} if problem.fixed_ends else set()
    for i in _cut_points(links):
        others = np.delete(np.arange(problem.n), i)
        parts = _groups(links[np.ix_(others, others)])
        named = tuple(tuple(int(others[k]) for k in part) for part in parts)
        without_end = [part for part in named if not ends & set(part)]
        if len(named) > 2 or (ends and (without_end or i in ends)):
            return "link", ((i,), *named)
    return None


def _groups(links: np.ndarray) -> list[tuple[int, ...]]:
    """Connected parts of a graph (n, n) bool, each sorted, in order of first member."""
    left = set(range(len(links)))
    neighbours = [np.flatnonzero(row).tolist() for row in links]
    groups = []
    while left:
        part, queue = set(), [min(left)]
        while queue:
            i = queue.pop()
            if i not in part:
                part.add(i)
                queue += [j for j in neighbours[i] if j not in part]
        left -= part
        groups.append(tuple(sorted(part)))
    return groups


def _cut_points(links: np.ndarray) -> list[int]:
    """Things whose removal splits a graph (Tarjan 1972, SIAM J. Comput. 1:146-160)."""
    neighbours = [np.flatnonzero(row).tolist() for row in links]
    seen, low, cuts = {0: 0}, {0: 0}, set()
    stack, root_children = [(0, -1, iter(neighbours[0]))], 0
    while stack:
        i, parent, rest = stack[-1]
        j = next(rest, None)
        if j is None:
            stack.pop()
            if parent >= 0:
                low[parent] = min(low[parent], low[i])
                root_children += parent == 0
                if parent != 0 and low[i] >= seen[parent]:
                    cuts.add(parent)
        elif j not in seen:
            seen[j] = low[j] = len(seen)
            stack.append((j, i, iter(neighbours[j])))
        elif j != parent:
            low[i] = min(low[i], seen[j])
    return sorted(cuts | ({0} if root_children > 1 else set()))
