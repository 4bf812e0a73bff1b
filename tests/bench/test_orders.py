"""Orders by others held against ours: largest step, sum, median, and time.

`python -m pytest -m bench -s tests/bench/test_orders.py` prints the tables that stand
in RESULTS.md. Ends are free and there is no value rule, since route solvers know of
neither. OR-tools, fast-tsp and networkx come with the extra `bench`; elkai, which wraps
LKH, has a licence of its own and joins in where it is installed. What is missing is
left out. Each other solver is asked for the least sum, and where weights are up to us
also for the least sum of 6th powers, which is close to the least largest step.
Times are wall-clock: some work on several threads. Nothing fails on seconds.
"""

import os
import time
from importlib.util import find_spec
from itertools import pairwise
from math import inf
from statistics import median

import numpy as np
import pytest

from kit.search import least_largest
from tests.helpers.problems import of_leftovers

pytestmark = pytest.mark.bench
N_STASHES = {12: 5, 25: 5, 40: 5, 60: 5, 100: 3, 200: 3, 500: 1}
SECONDS = 1.0  # for solvers that take as long as they are given
WHOLE = 65_535  # route solvers count in whole numbers; fast-tsp no further


# --- others ---------------------------------------------------------------------------


def by_value(cost):
    return list(range(len(cost)))


def nearest_neighbour(cost):
    """From every start on to the nearest left; the best start by largest step."""
    best, least = None, inf
    for start in range(len(cost)):
        order, left = [start], np.ones(len(cost), bool)
        left[start] = False
        while left.any():
            order.append(int(np.where(left, cost[order[-1]], inf).argmin()))
            left[order[-1]] = False
        largest = cost[order[:-1], order[1:]].max()
        if largest < least:
            best, least = order, largest
    return best


def descent(cost):
    """2-opt and or-opt on the sum, from the nearest neighbour's order, to rest."""
    order, n = [-1, *nearest_neighbour(cost), -1], len(cost)
    far = np.pad(cost, (0, 1)).tolist()  # -1, beyond the ends, is no step away
    better = True
    while better:
        better = False
        for i in range(1, n):
            for j in range(i + 1, n + 1):
                a, b, y, z = order[i - 1], order[i], order[j], order[j + 1]
                if far[a][y] + far[b][z] < far[a][b] + far[y][z] - 1e-9:
                    order[i : j + 1] = order[i : j + 1][::-1]
                    better = True
        for size in (1, 2, 3):
            for i in range(1, n + 2 - size):
                part, rest = order[i : i + size], order[:i] + order[i + size :]
                a, z = order[i - 1], order[i + size]
                free = far[a][part[0]] + far[part[-1]][z] - far[a][z]
                for k, (p, q) in enumerate(pairwise(rest)):
                    if free - far[p][part[0]] - far[part[-1]][q] + far[p][q] > 1e-9:
                        order = rest[: k + 1] + part + rest[k + 1 :]
                        better = True
                        break
    return order[1:-1]


def whole(cost, power):
    """Costs as whole numbers, and a stand that is no step from anything.

    As powers no step counts more than the largest of the nearest neighbour's order,
    or most would be nothing.
    """
    top, order = cost.max(), nearest_neighbour(cost)
    if power > 1:
        top = cost[order[:-1], order[1:]].max()
    share = np.minimum(cost / top, 1) ** power
    return np.pad(np.rint(WHOLE * share).astype(int), (0, 1))


def cut_at_stand(tour, n):
    tour = [int(i) for i in tour][: n + 1]
    at = tour.index(n)
    return tour[at + 1 :] + tour[:at]


def routing(cost, *, guided, power=1):
    from ortools.constraint_solver import pywrapcp, routing_enums_pb2

    n, table = len(cost), whole(cost, power).tolist()
    manager = pywrapcp.RoutingIndexManager(n + 1, 1, n)
    model = pywrapcp.RoutingModel(manager)
    arc = model.RegisterTransitMatrix(table)
    model.SetArcCostEvaluatorOfAllVehicles(arc)
    asked = pywrapcp.DefaultRoutingSearchParameters()
    first = routing_enums_pb2.FirstSolutionStrategy
    asked.first_solution_strategy = first.PATH_CHEAPEST_ARC
    if guided:
        ways = routing_enums_pb2.LocalSearchMetaheuristic
        asked.local_search_metaheuristic = ways.GUIDED_LOCAL_SEARCH
        asked.time_limit.FromMilliseconds(int(1000 * SECONDS))
    found, at, tour = model.SolveWithParameters(asked), model.Start(0), []
    while not model.IsEnd(at):
        tour.append(manager.IndexToNode(at))
        at = found.Value(model.NextVar(at))
    return cut_at_stand(tour, n)


def stochastic(cost, *, power):
    import fast_tsp

    table = whole(cost, power).tolist()
    tour = fast_tsp.find_tour(table, SECONDS, stop_when_converged=True)
    return cut_at_stand(tour, len(cost))


def christofides(cost):
    import networkx as nx

    # Without a stand: the costliest link of the closed tour is left out.
    graph = nx.from_numpy_array(cost)
    ring = nx.approximation.christofides(graph)[:-1]
    steps = [cost[i, j] for i, j in pairwise([*ring, ring[0]])]
    at = int(np.argmax(steps)) + 1
    return ring[at:] + ring[:at]


def lin_kernighan(cost, *, power):
    import elkai

    tour = elkai.DistanceMatrix(whole(cost, power).tolist()).solve_tsp(runs=10)
    return cut_at_stand(tour, len(cost))


# By name: what it needs, the most yarns it is asked for, how.
OTHERS = {
    "sort by L*": (None, 500, by_value),
    "nearest neighbour, best start": (None, 500, nearest_neighbour),
    "2-opt and or-opt on the sum": (None, 200, descent),
    "networkx, Christofides": ("networkx", 200, christofides),
    "OR-tools routing, descent": ("ortools", 500, lambda c: routing(c, guided=False)),
    f"OR-tools routing, guided {SECONDS:g} s": (
        "ortools", 500, lambda c: routing(c, guided=True)
    ),
    f"fast-tsp {SECONDS:g} s": ("fast_tsp", 500, lambda c: stochastic(c, power=1)),
    f"fast-tsp {SECONDS:g} s, 6th powers": (
        "fast_tsp", 500, lambda c: stochastic(c, power=6)
    ),
    "LKH (elkai)": ("elkai", 200, lambda c: lin_kernighan(c, power=1)),
    "LKH (elkai), 6th powers": ("elkai", 200, lambda c: lin_kernighan(c, power=6)),
}  # fmt: skip


# --- held against ours ----------------------------------------------------------------


COLUMNS = (
    ("largest step / best possible", ".2f"),
    ("sum of steps / ours", ".2f"),
    ("median step / ours", ".2f"),
    ("time / ours", ".3g"),
)


def test_orders(capsys):
    """No other order has a smaller largest step than what we call the best possible."""
    known = {
        name: (most, solve)
        for name, (needs, most, solve) in OTHERS.items()
        if needs is None or find_spec(needs)
    }
    rows, own_ms = {}, {}
    for n, n_stashes in N_STASHES.items():
        for seed in range(n_stashes):
            problem = of_leftovers(n, 2000 + seed)
            (order, bound), own = timed(lambda p=problem: ours(p))
            best = measured(problem, order)
            own_ms.setdefault(n, []).append(1000 * own)
            rows.setdefault(("ours", n), []).append([best[0] / bound, 1, 1, 1])
            for name, (most, solve) in known.items():
                if n > most:
                    continue
                order, taken = timed(lambda p=problem, s=solve: s(p.cost))
                assert sorted(order) == list(range(n)), name
                theirs = measured(problem, order)
                assert theirs[0] >= bound - 1e-6, name
                row = [theirs[0] / bound, *np.divide(theirs[1:], best[1:]), taken / own]
                rows.setdefault((name, n), []).append(row)
    with capsys.disabled():
        print(f"\n\nload {os.getloadavg()[0]:.1f}; free ends, no value rule; medians")
        for k, (title, form) in enumerate(COLUMNS):
            head(title)
            for name in ("ours", *known):
                cells = [
                    format(median(row[k] for row in rows[name, n]), form)
                    if (name, n) in rows
                    else "–"
                    for n in N_STASHES
                ]
                print(f"| {name} | {' | '.join(cells)} |")
        print(
            f"| ours, ms | {' | '.join(f'{median(own_ms[n]):.0f}' for n in own_ms)} |"
        )


def head(title):
    print(f"\n| {title} | {' | '.join(str(n) for n in N_STASHES)} |")
    print("|---" * (len(N_STASHES) + 1) + "|")


def ours(problem):
    found = least_largest(problem)
    return found.order, found.bound


def timed(call):
    begun = time.perf_counter()
    result = call()
    return result, time.perf_counter() - begun


def measured(problem, order):
    """Largest step, sum and median of an order."""
    steps = problem.cost[list(order[:-1]), list(order[1:])]
    return float(steps.max()), float(steps.sum()), float(np.median(steps))


def test_under_a_value_rule(capsys):
    """With the default rule (slack 20, ends fixed) route solvers cannot be asked:
    sorted by L*, the quick answer, and the whole ladder, over the bound."""
    with capsys.disabled():
        print(
            "\n\n| slack 20, fixed ends: over the bound | sort by L* | quick | ours |"
        )
        print("|---|---|---|---|")
        for n, n_stashes in N_STASHES.items():
            rows = []
            for seed in range(n_stashes):
                problem = of_leftovers(n, 2000 + seed, slack=20.0, fixed=True)
                found = least_largest(problem)
                quick = least_largest(problem, quick=True)
                assert quick.bound <= found.bound + 1e-6
                largest = problem.largest(range(n)), quick.largest, found.largest
                assert found.largest <= min(largest) + 1e-6
                rows.append([one / found.bound for one in largest])
            cells = [f"{one:.2f}" for one in np.median(rows, axis=0)]
            print(f"| {n} | {' | '.join(cells)} |")
