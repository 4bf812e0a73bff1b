"""How often the best possible is proved, how wide the gap is where not, how long it
takes, and what it takes of memory.

`python -m pytest -m bench -s tests/bench/test_proofs.py` prints the tables that stand
in RESULTS.md. Stashes are `tests.helpers.yarns.leftovers`: seeded, realistic in
spread. Times are processor time, the order made smooth included. Nothing fails on
seconds.
"""

import math
import os
import subprocess
import sys
import time
from math import inf
from pathlib import Path
from statistics import median

import pytest

from kit.search import least_largest
from tests.helpers.problems import keeps_rule, of_leftovers

pytestmark = pytest.mark.bench
N_STASHES = {12: 20, 25: 20, 40: 20, 60: 20, 100: 5, 200: 5}
RULES = {
    "no value rule, fixed ends": (inf, True),
    "no value rule, free ends": (inf, False),
    "slack 20, fixed ends (default)": (20.0, True),
    "slack 20, free ends": (20.0, False),
    "slack 8, fixed ends": (8.0, True),
}
PROVED_AT_60 = 0.9
SEARCHED = """
import re, sys, time
from pathlib import Path
import scipy.optimize, scipy.sparse.csgraph
from tests.helpers.problems import of_leftovers
from kit.search import (least_largest)

def most_kb():
    return int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1])

n, slack, times, peak = int(sys.argv[1]), float(sys.argv[2]), [], 0
for seed in (1000, 1001, 1002):
    problem = of_leftovers(n, seed, slack=slack, fixed=True)
    before, begun = most_kb(), time.process_time()
    least_largest(problem)
    times.append(time.process_time() - begun)
    peak += most_kb() - before
print(sorted(times)[1], peak / 1024)
"""


@pytest.mark.parametrize("rule", RULES)
def test_share_proved(rule, capsys):
    """Every order keeps its rule; at 60 yarns nearly all are proved."""
    slack, fixed = RULES[rule]
    with capsys.disabled():
        print(f"\n\n{rule}; load {os.getloadavg()[0]:.1f}\n")
        print("| yarns | proved | worst gap | median ms | most ms | by search |")
        print("|---|---|---|---|---|---|")
        for n, n_stashes in N_STASHES.items():
            gaps, taken, whys = [], [], []
            for seed in range(n_stashes):
                problem = of_leftovers(n, 1000 + seed, slack=slack, fixed=fixed)
                begun = time.process_time()
                found = least_largest(problem)
                taken.append(1000 * (time.process_time() - begun))
                assert keeps_rule(problem, found.order)
                assert found.proved == (found.largest <= found.bound + 1e-6)
                gaps.append(0 if found.proved else found.largest / found.bound - 1)
                whys.append(found.why)
            n_proved = gaps.count(0)
            worst = f"{max(gaps):.1%}" if any(gaps) else "–"
            print(
                f"| {n} | {n_proved} of {n_stashes} | {worst} | {median(taken):.0f} "
                f"| {max(taken):.0f} | {whys.count('search')} |"
            )
            assert n > 60 or n_proved >= PROVED_AT_60 * n_stashes


def test_growth_and_memory(capsys):
    """How time grows with the number of yarns, and the most memory taken, in a process
    of its own above what its imports take."""
    if not Path("/proc/self/status").exists():
        pytest.skip("tells its memory on Linux alone")
    with capsys.disabled():
        print(f"\n\nload {os.getloadavg()[0]:.1f}\n")
        print("| yarns | no rule: s | grows as n^ | peak MB | slack 20: s | n^ | MB |")
        print("|---|---|---|---|---|---|---|")
        last = {}
        for n in (25, 50, 100, 200, 400):
            cells = []
            for slack in (inf, 20.0):
                now, peak_mb = searched(n, slack)
                rise = math.log2(now / last[slack]) if slack in last else None
                last[slack] = now
                grows = "" if rise is None else f"{rise:.1f}"
                cells.append(f"{now:.2f} | {grows} | {peak_mb:.0f}")
            print(f"| {n} | {' | '.join(cells)} |")


def searched(n, slack):
    """Processor time of a search, the middle one of three, and the most memory that
    they take, MB."""
    root = Path(__file__).resolve().parents[2]
    env = os.environ | {"PYTHONPATH": os.pathsep.join([str(root), str(root / "tests")])}
    call = [sys.executable, "-c", SEARCHED, str(n), str(slack)]
    done = subprocess.run(call, env=env, capture_output=True, text=True, check=True)
    seconds, mb = done.stdout.split()
    return float(seconds), float(mb)
