"""Do ranges of nine in ten hold the truth nine times in ten? 2 000 drawn knittings.

    python -m pytest -m bench -s tests/bench/test_coverage.py

Every knitting draws its own truth (balls, labels, pace, tension) from the stated doubts
and knits the plan row by row; the kit only ever sees the log.
"""

from math import sqrt

import pytest

from tests.helpers.coverages import MIRRORED_LOOK, a_mirrored_plan, coverage

pytestmark = pytest.mark.bench
N = 2000


def test_ranges_hold_the_truth(capsys):
    """Each kind of range holds it in 87 to 93 of 100, before and while knitting."""
    table = coverage(N)
    told(table, "light to dark", capsys)
    for what, (held, n) in table.items():
        assert 0.87 <= held / n <= 0.93, what


def test_ranges_hold_the_truth_of_parted_balls(capsys):
    """The same on a mirrored blanket, whose balls are wound in two. Where only some of
    the knittings have such a range, two standard errors of so few are allowed too; a
    hundred are the least that tell anything."""
    table = coverage(N, looks=MIRRORED_LOOK, plan=a_mirrored_plan())
    told(table, "mirrored", capsys)
    for what, (held, n) in table.items():
        if n < 100:
            continue
        slack = 2 * sqrt(0.9 * 0.1 / n) if n < N / 2 else 0.0
        assert 0.87 - slack <= held / n <= 0.93 + slack, what


def told(table, layout, capsys):
    with capsys.disabled():
        print(f"\n{N} knittings {layout}, ranges of nine in ten")
        for what, (held, n) in table.items():
            print(f"  {what:44} {100 * held / n:5.1f} %  of {n}")
