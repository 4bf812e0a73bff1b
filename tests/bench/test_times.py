"""Timings as ratios, never as pass or fail: `python -m pytest -m bench -s tests/bench`.

Each is the best of a few runs, over the time of one CIEDE2000 table of 45 x 45 colours
by colour-science in the same run. The stashes are generated, seeded, realistic in
spread.
"""

import time
from dataclasses import replace

import numpy as np
import pytest

from kit.arrangement import design_colours
from kit.arrangement import orders as arrangement
from kit.blanket import Choices
from kit.blanket.choices import Arranging
from kit.blanket.stash_csv import read_stash
from kit.colour import Mix, difference
from kit.pictures import run_svg

pytestmark = pytest.mark.bench


def stash(n, seed=1):
    """n yarns: hue groups and neutrals, L* 15-95, a quarter of them of two colours."""
    rng = np.random.default_rng(seed)
    hues = rng.uniform(0, 360, 7)
    yarns = read_stash(
        ("name,colours\n" + "".join(f"Y{k:03},#777777\n" for k in range(n))).encode()
    ).yarns
    made = []
    for k, yarn in enumerate(yarns):
        chroma = rng.uniform(0, 6) if rng.random() < 0.2 else rng.uniform(10, 50)
        hue = np.radians(rng.choice(hues) + rng.normal(0, 10))
        lab = (rng.uniform(15, 95), chroma * np.cos(hue), chroma * np.sin(hue))
        other = (min(98, lab[0] + rng.uniform(5, 25)), lab[1] / 2, lab[2] / 2)
        mix = Mix((lab, other), (2, 1)) if k % 4 == 0 else Mix((lab,), (1,))
        made.append(replace(yarn, mix=mix))
    return made


def best_of(call, times=3):
    taken = []
    for _ in range(times):
        arrangement._solve.cache_clear()
        difference._near_and_far.cache_clear()
        begun = time.perf_counter()
        call()
        taken.append(time.perf_counter() - begun)
    return min(taken)


@pytest.fixture(scope="module")
def unit():
    """One CIEDE2000 table of 45 x 45 by colour-science, in seconds."""
    import colour

    labs = np.array([yarn.mix.labs[0] for yarn in stash(45)])

    def table():
        colour.delta_E(labs[:, None], labs[None, :], method="CIE 2000")

    return best_of(table, 9)


def test_designs(unit, capsys):
    """Arranging, bridging and measuring at 12, 45 and 200 yarns."""
    with capsys.disabled():
        print(f"\nunit: {1000 * unit:.2f} ms")
        for n in (12, 45, 200):
            yarns = stash(n)
            for by in ("value", "family", "smoothest"):
                choices = Choices("bench", arranging=Arranging(by=by))
                taken = best_of(lambda y=yarns, c=choices: design_colours(y, (), c), 2)
                print(f"{n:4} yarns by {by:9} {taken / unit:8.1f} units")


def test_the_run_as_a_picture(unit, capsys):
    """The run as SVG text at 45 and 200 yarns."""
    with capsys.disabled():
        for n in (45, 200):
            design = design_colours(stash(n), (), Choices("bench"))
            taken = best_of(lambda d=design: run_svg(d, limit=25))
            print(f"\n{n:4} yarns as SVG {taken / unit:8.1f} units")
