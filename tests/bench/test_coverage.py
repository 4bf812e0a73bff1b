"""Do ranges of nine in ten hold the truth nine times in ten? 2 000 drawn knittings.

    python -m pytest -m bench -s tests/bench/test_coverage.py

Every knitting draws its own truth (balls, labels, pace, tension) from the stated doubts
and knits the plan row by row; the kit only ever sees the log.
"""

import pytest

from tests.coverages import coverage

pytestmark = pytest.mark.bench
N = 2000


def test_ranges_hold_the_truth(capsys):
    """Each kind of range holds it in 87 to 93 of 100, before and while knitting."""
    table = coverage(N)
    with capsys.disabled():
        print(f"\n{N} knittings, ranges of nine in ten")
        for what, (held, n) in table.items():
            print(f"  {what:44} {100 * held / n:5.1f} %  of {n}")
    for what, (held, n) in table.items():
        assert 0.87 <= held / n <= 0.93, what
