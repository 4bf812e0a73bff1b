"""Whole blankets through the needles desk, many of them; see tests/test_knittings.

python -m pytest -m bench -s tests/bench/test_sixty_knittings.py
"""

import pytest

from tests.helpers.knittings import (
    hall,
    knit_through,
    mirrored_hall,
    pram_cover,
    quick_plans,
)

pytestmark = pytest.mark.bench
N = 20
quick = pytest.fixture(quick_plans, autouse=True)


@pytest.mark.parametrize("blanket", [hall, mirrored_hall, pram_cover])
def test_followed_to_the_end(tmp_path, blanket, capsys):
    """Held as the knitter holds, no ball below zero, forecasts near, in every one."""
    ends = []
    for seed in range(N):
        (tmp_path / str(seed)).mkdir()
        ends.append(knit_through(blanket(tmp_path / str(seed)), seed))
    short = [one.planned - one.rows for one in ends]
    with capsys.disabled():
        print(f"\n{blanket.__name__}: {N} knitted, rows missing at the end {short}")
    assert max(short) <= 12
