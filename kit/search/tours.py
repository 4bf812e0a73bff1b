"""Orders as closed tours: what linear and integer programming know of them.

A stand beyond the ends closes an order to a tour. Each thing has two neighbours, and
every group of things is left twice (subtour cuts: Dantzig, Fulkerson & Johnson 1954,
J. Oper. Res. Soc. Am. 2:393-410). Without whole numbers this is a bound, and often a
tight one; with them it is exact. Groups that a solution leaves too seldom are found
as they are needed. Solved by HiGHS through scipy, which comes late, being slow to
import. Of the value rule only `Problem.may_follow` is known here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from kit.search.problem import SAME, Order, Problem

Group = tuple[int, ...]
ROUNDS = 60  # times groups are added
NODES = 500  # of branch and bound, each time
LEAST = 1e-7  # what counts as more than nothing in a solution
N_GROUPS = 20  # added at a time


@dataclass(frozen=True)
class Graph:
    """Links (i, j) that a tour may take with their costs; `n` things and the stand."""

    n: int
    i: np.ndarray
    j: np.ndarray
    cost: np.ndarray

    @cached_property
    def ends(self) -> Any:
        """(n + 1, links) sparse: which links end at each."""
        from scipy.sparse import csr_matrix

        link = np.arange(len(self.i))
        at = np.concatenate((self.i, self.j)), np.concatenate((link, link))
        return csr_matrix((np.ones(2 * len(link)), at), (self.n + 1, len(link)))

    def leaving(self, groups: Sequence[Group]) -> Any:
        """(groups, links) sparse: which links leave each."""
        from scipy.sparse import csr_matrix

        inside = np.zeros((len(groups), self.n + 1), bool)
        for row, group in zip(inside, groups, strict=True):
            row[list(group)] = True
        return csr_matrix(inside[:, self.i] ^ inside[:, self.j], dtype=float)


def graph_of(problem: Problem, limit: float) -> Graph:
    """The steps up to `limit`, and the stand linked to what may lie at the ends."""
    n = problem.n
    may = problem.may_follow | problem.may_follow.T
    i, j = np.nonzero(np.triu(may & (problem.cost <= limit + SAME), 1))
    ends = np.array([0, n - 1]) if problem.fixed_ends else np.arange(n)
    return Graph(
        n,
        np.concatenate((i, ends)),
        np.concatenate((j, np.full(len(ends), n))),
        np.concatenate((problem.cost[i, j], np.zeros(len(ends)))),
    )


def fractional(
    problem: Problem, limit: float, groups: tuple[Group, ...] = ()
) -> tuple[bool, tuple[Group, ...]]:
    """Whether the linear programme shows that every order has a step over `limit`.

    Returns the groups that it took, too, to start from next time.
    """
    from scipy.optimize import linprog

    graph = graph_of(problem, limit)
    for _ in range(ROUNDS):
        rows = -graph.leaving(groups) if groups else None
        found = linprog(
            graph.cost,
            A_ub=rows,
            b_ub=np.full(len(groups), -2.0) if groups else None,
            A_eq=graph.ends,
            b_eq=np.full(graph.n + 1, 2.0),
            bounds=(0, 1),
            method="highs-ds",
        )
        if found.status == 2:
            return True, groups
        new = _left_too_seldom(graph, found.x) if found.status == 0 else []
        if not new:
            break
        groups = (*groups, *new)
    return False, groups


def cheapest(
    problem: Problem,
    limit: float,
    groups: tuple[Group, ...] = (),
    *,
    gap: float = 0.0,
    nodes: int = NODES,
) -> tuple[Order | None, bool]:
    """The order with the least sum and no step over `limit`, by integer programming.

    Returns the order, None if none was found, and whether the search was complete: if
    so there is none, or none whose sum is under this one's by more than the share
    `gap`. Knows nothing of the value rule beyond neighbours and ends: for problems
    without one.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    graph = graph_of(problem, limit)
    for _ in range(ROUNDS):
        rules = [LinearConstraint(graph.ends, 2, 2)]
        if groups:
            rules.append(LinearConstraint(graph.leaving(groups), 2, np.inf))
        found = milp(
            graph.cost,
            constraints=rules,
            integrality=np.ones(len(graph.cost)),
            bounds=Bounds(0, 1),
            options={"node_limit": nodes, "mip_rel_gap": gap},
        )
        if found.status != 0:
            return None, found.status == 2
        new = _left_too_seldom(graph, np.round(found.x))
        if not new:
            return _order_of(graph, found.x), True
        groups = (*groups, *new)
    return None, False


def _order_of(graph: Graph, x: np.ndarray) -> Order:
    """The tour from the stand round to it, the end with the smaller number first."""
    beside: dict[int, list[int]] = {i: [] for i in range(graph.n + 1)}
    for k in np.flatnonzero(x > 0.5).tolist():
        i, j = int(graph.i[k]), int(graph.j[k])
        beside[i].append(j)
        beside[j].append(i)
    order, at = [graph.n], min(beside[graph.n])
    while at != graph.n:
        one, two = beside[at]
        order.append(at)
        at = two if one == order[-2] else one
    return tuple(order[1:])


# --- groups that are left too seldom --------------------------------------------------


def _left_too_seldom(graph: Graph, x: np.ndarray) -> list[Group]:
    """Groups that a solution leaves less than twice, the worst first; none if none."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    size, some = graph.n + 1, x > LEAST
    i, j, weight = graph.i[some], graph.j[some], x[some]
    links = coo_matrix((weight, (i, j)), (size, size))
    n_parts, part = connected_components(links, directed=False)
    if n_parts > 1:
        parts = [tuple(np.flatnonzero(part == k).tolist()) for k in range(n_parts)]
        return sorted(parts, key=lambda group: (len(group), group))[:-1]
    both = links.toarray()
    return _small_cuts(both + both.T)


def _small_cuts(weight: np.ndarray) -> list[Group]:
    """Groups whose links to the rest weigh less than 2, among those met while the
    smallest such is sought (Stoer & Wagner 1997, J. ACM 44:585-591)."""
    weight = weight.copy()
    members: list[Group] = [(i,) for i in range(len(weight))]
    alive, cuts = np.ones(len(weight), bool), []
    for _ in range(len(weight) - 1):
        last, before, cut = _phase(weight, alive)
        if cut < 2 - 1e-6:
            cuts.append((round(cut, 6), tuple(sorted(members[last]))))
        members[before] += members[last]
        weight[before] += weight[last]
        weight[:, before] += weight[:, last]
        weight[before, before] = 0
        alive[last] = False
    return [group for _, group in sorted(cuts)[:N_GROUPS]]


def _phase(weight: np.ndarray, alive: np.ndarray) -> tuple[int, int, float]:
    """Take in the most tightly linked one after another: the last, the one before it,
    and what links the last to all others."""
    pull = np.where(alive, 0.0, -np.inf)
    last = before = int(np.flatnonzero(alive)[0])
    cut = 0.0
    for _ in range(int(alive.sum())):
        last, before = int(pull.argmax()), last
        cut = float(pull[last])
        pull += weight[last]
        pull[last] = -np.inf
    return last, before, cut
