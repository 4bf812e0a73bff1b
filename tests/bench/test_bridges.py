"""Bridges, catalogues and the earth-mover's distance, against others, as ratios.

`python -m pytest -m bench -s tests/bench`; the general-purpose optimal-transport_cost
library (POT) comes with the extra `bench`. What is equal is asserted; seconds never
are. Times are processor time where the work is ours alone.
"""

import random
import time
import tracemalloc
from dataclasses import replace
from itertools import combinations_with_replacement, pairwise, permutations

import numpy as np
import pytest

from kit.arrangement import candidates, design_colours
from kit.arrangement.bridges import add_bridges
from kit.arrangement.candidates import Candidates
from kit.arrangement.catalogue import bounds, catalogue
from kit.arrangement.ideal_bridge import find_ideal
from kit.arrangement.layout import Laid
from kit.blanket import Choices
from kit.blanket.choices import Arranging, Bridging, Judging
from kit.blanket.stash_csv import read_stash
from kit.colour import ciede2000, difference, step_table
from kit.colour.difference import near_steps
from kit.colour.transport import transport_cost
from tests.bench.test_times import stash
from tests.helpers.strategies import random_mixes
from tests.helpers.yarns import drawn, held_back, yarn

pytestmark = pytest.mark.bench
VIEW = 0.5


def clocked(call, times=3):
    """The result and the least processor time of a few calls, in seconds."""
    taken = []
    for _ in range(times):
        difference._near_and_far.cache_clear()
        begun = time.process_time()
        result = call()
        taken.append(time.process_time() - begun)
    return result, min(taken)


# --- CIEDE2000 ------------------------------------------------------------------------


def test_ciede2000_tables(capsys):
    """A table of n x n colours: two published libraries over ours."""
    import colour
    from skimage.color import deltaE_ciede2000

    rng = np.random.default_rng(2)
    with capsys.disabled():
        print("\nCIEDE2000, n x n   ns an entry   colour-science   scikit-image (x)")
        for n in (60, 500, 2000):
            labs = np.c_[rng.uniform(5, 98, n), rng.uniform(-60, 60, (n, 2))]
            a, b = labs[:, None], labs[None, :]
            ours, own = clocked(lambda x=labs: difference.ciede2000_table(x, x))
            one, first = clocked(
                lambda a=a, b=b: colour.delta_E(a, b, method="CIE 2000"), 1
            )
            two, second = clocked(lambda a=a, b=b: deltaE_ciede2000(a, b), 1)
            # scikit-image differs on hues that are opposite but for rounding.
            assert np.abs(ours - one).max() < 1e-8
            assert np.median(np.abs(ours - two)) < 1e-9
            each = own / n / n * 1e9
            row = f"{n:13} {each:15.0f} {first / own:13.1f} {second / own:15.1f}"
            print(row)


# --- earth-mover's distance -----------------------------------------------------------


def test_earth_movers_distance(capsys):
    """2000 pairs of mixes of up to five colours, batched, against POT and linprog."""
    ot = pytest.importorskip("ot")
    from scipy.optimize import linprog

    rng = np.random.default_rng(11)
    ones, twos = (random_mixes(2000, rng) for _ in range(2))
    several = [
        (one, two)
        for one, two in zip(ones, twos, strict=True)
        if min(len(one.labs), len(two.labs)) > 1
    ]
    ones, twos = ([pair[side] for pair in several] for side in (0, 1))
    n = len(ones)
    near, ours = clocked(lambda: near_steps(ones, twos))
    costs = [
        ciede2000(np.array(one.labs)[:, None], np.array(two.labs)[None])
        for one, two in several
    ]

    def by_pot():
        return [
            ot.emd2(np.array(one.shares), np.array(two.shares), cost)
            for one, two, cost in zip(ones, twos, costs, strict=True)
        ]

    def by_linprog():
        found = []
        for one, two, cost in list(zip(ones, twos, costs, strict=True))[:100]:
            k, m = cost.shape
            rows = np.vstack(
                [np.kron(np.eye(k), np.ones(m)), np.kron(np.ones(k), np.eye(m))]
            )
            sums = np.r_[one.shares, two.shares]
            found.append(linprog(cost.ravel(), A_eq=rows[:-1], b_eq=sums[:-1]).fun)
        return found

    theirs, pot = clocked(by_pot)
    _, lp = clocked(by_linprog, 1)
    alone = sum(
        clocked(
            lambda c=cost, one=one, two=two: transport_cost(
                c[None], np.array([one.shares]), np.array([two.shares])
            ),
            1,
        )[1]
        for (one, two), cost in list(zip(several, costs, strict=True))[:100]
    )
    _, bound = clocked(lambda: bounds(catalogue(ones), catalogue(twos[:50]), view=0.0))
    worst = float(np.abs(near - np.array(theirs)).max())
    assert worst < 1e-6
    with capsys.disabled():
        print(f"\nEarth-mover's distance, {n} pairs; worst difference {worst:.1e}")
        print(f"  ours, batched, costs included {1e6 * ours / n:8.1f} µs a pair")
        print(f"  ours, one by one              {1e6 * alone / 100:8.1f}")
        print(f"  POT's emd2, costs given       {1e6 * pot / n:8.1f}")
        print(f"  scipy's linprog, costs given  {1e6 * lp / 100:8.1f}")
        print(f"  the relaxed bound             {1e6 * bound / n / 50:8.1f}")


# --- bridges against trying everything ------------------------------------------------


def by_brute_force(run, yarns, most):
    """The least largest step of every set of bridges, by trying each."""
    every = [*run, *yarns]
    mixes = [one.mix for one in every]
    table = step_table(mixes, mixes, view=VIEW)
    steps = [table[k, k + 1] for k in range(len(run) - 1)]
    best = max(steps)
    for n in range(1, most + 1):
        for chosen in permutations(range(len(run), len(every)), n):
            for where in combinations_with_replacement(range(len(run) - 1), n):
                largest = 0.0
                for gap, size in enumerate(steps):
                    if gap not in where:
                        largest = max(largest, size)
                        continue
                    inside = [c for c, w in zip(chosen, where, strict=True) if w == gap]
                    line = [gap, *inside, gap + 1]
                    largest = max(largest, *(table[a, b] for a, b in pairwise(line)))
                best = min(best, largest)
    return best


@pytest.mark.parametrize(
    ("most", "n_yarns", "n_candidates"),
    [(1, 45, 200), (2, 16, 24), (3, 8, 12)],
    ids=["one", "two", "three"],
)
def test_sets_against_brute_force(most, n_yarns, n_candidates, capsys):
    """The same largest step as trying every yarn in every place, in less time."""
    equal, ours, theirs = 0, 0.0, 0.0
    for seed in range(3):
        run, yarns = drawn(n_yarns, seed), held_back(n_candidates, 90 + seed)
        listed = Candidates(yarns)
        bridged, taken = clocked(
            lambda run=run, c=listed: add_bridges(
                Laid(tuple(run)), c, Bridging(most), Judging(view=VIEW)
            ),
            1,
        )
        brute, tried = clocked(lambda r=run, y=yarns: by_brute_force(r, y, most), 1)
        left = [one.mix for one in bridged.laid.yarns]
        largest = max(difference.pair_steps(left[:-1], left[1:], view=VIEW))
        assert largest == pytest.approx(brute, abs=1e-6)
        equal, ours, theirs = equal + 1, ours + taken, theirs + tried
    with capsys.disabled():
        print(
            f"\n{most} of {n_candidates} into {n_yarns} yarns: {equal} of 3 as by "
            f"brute force; {1000 * ours / 3:.0f} ms, brute force {theirs / ours:.0f} x"
        )


# --- a shop's list --------------------------------------------------------------------


def shop_file(n, seed=3):
    """A shop.csv of n variegated skeins of two to four colours."""
    rng = random.Random(seed)
    rows = ["name,colours,grams,metres_per_100g,weight,style"]
    for k in range(n):
        shares = [rng.randrange(1, 10) for _ in range(rng.choice((2, 3, 3, 4)))]
        whole = [round(100 * share / sum(shares)) for share in shares]
        whole[0] += 100 - sum(whole)
        colours = ", ".join(f"#{rng.randrange(1 << 24):06x} {s}%" for s in whole)
        rows.append(f'Skein {k},"{colours}",100,400,fingering,variegated')
    return "\n".join(rows).encode()


def fresh():
    candidates._packed.cache_clear()
    find_ideal.cache_clear()


@pytest.mark.parametrize("n", [2000, 20_000])
def test_a_catalogue(n, capsys):
    """Reading n skeins, and one to three bridges out of them against 45 yarns."""
    data, yarns = shop_file(n), stash(45)
    shop, reading = clocked(lambda: read_stash(data, file="shop.csv"), 1)
    lines = []
    for by in ("family", "smoothest"):
        for most in (1, 2, 3):
            plain = Choices("b", arranging=Arranging(by=by), bridging=Bridging(0))
            choices = replace(plain, bridging=Bridging(most, "stash and shop"))
            design_colours(yarns, (), plain)  # the order is found, and remembered
            fresh()
            _, without = clocked(lambda c=plain: design_colours(yarns, (), c), 1)
            fresh()
            design, taken = clocked(
                lambda c=choices: design_colours(yarns, shop.yarns, c), 1
            )
            told = ", ".join(
                f"{b.step_before:.0f} to {b.step_after:.0f}" for b in design.bridges
            )
            exact = "approximate" if design.sentences else "exact"
            spent = taken - without
            lines.append(
                f"  {by:9} {most}: {1000 * spent:6.0f} ms, {spent / reading:5.2f} of "
                f"the reading, {exact}: {told}"
            )
    with capsys.disabled():
        print(f"\n{n} skeins, 45 yarns; reading {1000 * reading:.0f} ms")
        print("\n".join(lines))


def test_several_in_one_gap_of_a_catalogue(capsys):
    """The hardest case: one wide gap, two and three bridges of 20 000 in it."""
    shop = read_stash(shop_file(20_000), file="shop.csv")
    run = [yarn("light", (93.0, 0, 8)), yarn("dark", (12.0, 18, -20))]
    with capsys.disabled():
        print()
        for most in (1, 2, 3):
            listed = Candidates(shop.yarns)
            bridged, taken = clocked(
                lambda c=listed, m=most: add_bridges(
                    Laid(tuple(run)), c, Bridging(m), Judging(view=VIEW)
                ),
                1,
            )
            largest = bridged.bridges[-1].largest_after
            exact = "approximate" if bridged.sentences else "exact"
            print(
                f"{most} of 20 000 in one gap of {bridged.bridges[0].step_before:.0f}: "
                f"{largest:.1f} left, {1000 * taken:.0f} ms, {exact}"
            )


def test_the_catalogue_is_exact(capsys):
    """The best single skein of 20 000 for a gap of mixes, against every true step;
    the share of true steps that were worked out, and what averages alone would pick."""
    shop = read_stash(shop_file(20_000), file="shop.csv").yarns
    rng = np.random.default_rng(8)
    mixes = [one.mix for one in shop]
    worse, settled = [], []
    for _ in range(3):
        several = [m for m in random_mixes(12, rng, most=4) if len(m.labs) > 1]
        one, two = several[:2]
        listed = Candidates(shop)
        gap = listed.gap(one, two, np.ones(len(listed), bool), view=VIEW)
        (step, _), *_ = gap.singles(1)
        every = step_table(mixes, (one, two), view=VIEW).max(axis=1)
        assert step == pytest.approx(every.min(), abs=1e-6)
        far = step_table(mixes, (one, two), view=1.0).max(axis=1)
        worse.append(every[far.argmin()] / every.min() - 1)
        settled.append(gap.one.known.sum())
    with capsys.disabled():
        print(
            f"\nexact in 3 of 3 gaps, {np.mean(settled):.0f} of 20 000 true distances "
            f"each; chosen by averages the step is {100 * np.mean(worse):.0f} % larger"
        )


def test_peak_memory(capsys):
    """What reading a list and bridging from it take at most, above what they keep."""
    with capsys.disabled():
        print()
        for n in (2000, 20_000):
            data, yarns = shop_file(n), stash(45)
            fresh()
            tracemalloc.start()
            shop = read_stash(data, file="shop.csv").yarns
            kept, reading = tracemalloc.get_traced_memory()
            tracemalloc.reset_peak()
            choices = Choices("b", bridging=Bridging(1, "stash and shop"))
            design_colours(yarns, shop, choices)
            _, bridging = tracemalloc.get_traced_memory()
            tracemalloc.stop()
            print(
                f"{n:6} skeins: file {len(data) / 1e6:.1f} MB, yarns {kept / 1e6:.0f} "
                f"MB, peak while reading {reading / 1e6:.0f} MB, bridging adds at most "
                f"{(bridging - kept) / 1e6:.0f} MB"
            )
