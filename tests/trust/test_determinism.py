"""One stash, one plan: whatever the order of its rows, the hash seed, the threads.

python -m pytest -m long tests/trust/test_determinism.py      200 shuffles of the demo
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

PLAN = """
import hashlib, json, random, sys
from kit.plan import (plan)
from kit.files import (read_bytes, shared_folder)
from kit.blanket.choices_toml import read_choices
from kit.report.plan_json import plan_json
from kit.blanket.stash_csv import read_stash

n_shuffles, n_yarns, by = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
demo = shared_folder("data") / "reading-room"
toml = read_bytes(demo / "blanket.toml").decode()
if by != "as it is":
    toml = f'name = "A"\\n[colours]\\nby = "{by}"\\n'
head, *rows = read_bytes(demo / "stash.csv").decode().splitlines()
rows = rows[:n_yarns]
rng, found = random.Random(1), set()
for _ in range(n_shuffles):
    rng.shuffle(rows)
    stash = read_stash("\\n".join([head, *rows]).encode())
    made = json.loads(plan_json(plan(stash, read_choices(toml))))
    made["yarn"].sort(key=lambda yarn: yarn["name"])
    del made["assumed"]  # lists rows
    found.add(hashlib.sha256(json.dumps(made, sort_keys=True).encode()).hexdigest())
print(*sorted(found))
"""

ORDERS = """
from math import inf
from kit.arrangement.orders import arrange
from kit.blanket.choices import Arranging
from tests.helpers.yarns import leftovers

for n, slack, ends in ((26, inf, "free"), (26, 12.0, "fixed"), (60, 20.0, "fixed")):
    way = Arranging(by="smoothest", value_slack=slack, ends=ends)
    order = arrange(leftovers(n, 2), way, view=0.5)
    print(",".join(one.name for one in order.yarns), repr(order.best).replace(" ", ""))
"""


def plans(n_shuffles, n_yarns, by, *, seed, n_threads, more=""):
    """The digests of all plans that one process makes, and what else it prints."""
    names = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
    env = os.environ | {"PYTHONHASHSEED": str(seed)}
    env |= dict.fromkeys(names, str(n_threads))
    call = [sys.executable, "-c", PLAN + more, str(n_shuffles), str(n_yarns), by]
    done = subprocess.run(call, env=env, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


def test_one_plan():
    """A few shuffles, and larger stashes in order as smoothly as can be: two hash
    seeds, one and two threads."""
    one = plans(2, 7, "smoothest", seed=0, n_threads=1, more=ORDERS)
    two = plans(2, 7, "smoothest", seed=1, n_threads=2, more=ORDERS)
    assert len(one) == 1 + 2 * 3
    assert one == two
    assert all("reached=True" in best for best in one[2::2])


@pytest.mark.long
@pytest.mark.parametrize(
    ("by", "n_shuffles"), [("as it is", 10), ("family", 95), ("smoothest", 95)]
)
@pytest.mark.parametrize("n_yarns", [45])
def test_one_plan_of_the_demo(by, n_shuffles, n_yarns):
    """200 shuffles in all, of the colours alone and of the whole fabric."""
    found = {
        tuple(plans(n_shuffles, n_yarns, by, seed=seed, n_threads=n_threads))
        for seed in (0, 1)
        for n_threads in (1, 2)
    }
    assert len(found) == 1
    assert len(*found) == 1
