"""Whole blankets through the needles desk, planned anew twice on the way: the truth,
which the kit does not know, is the judge. More of them in
tests/bench/test_sixty_knittings.py.
"""

import pytest

from tests.helpers.knittings import hall, knit_through, pram_cover, quick_plans

quick = pytest.fixture(quick_plans, autouse=True)


def test_light_to_dark(tmp_path):
    """Every strand is followed, and the blanket is as long as wished."""
    judged = knit_through(hall(tmp_path), 7)
    assert judged.rows == judged.planned


@pytest.mark.parametrize("seed", [19, 21])
def test_mirrored_of_parted_balls(tmp_path, seed):
    """Balls that come round again, thin ones for a thick one: followed to the end, and
    about as long as planned. In the first balls last far longer than planned; in the
    second one ends just where it is planned anew."""
    judged = knit_through(pram_cover(tmp_path), seed)
    assert judged.rows >= judged.planned - 12
