"""How much yarn short mirrored blankets leave, and what their joining gains in rows."""

from statistics import mean, median

import pytest

from kit.fabric import make_fabric
from kit.fabric.ball_shares import Task, knit
from kit.fabric.setup import SECOND_HALF_RESERVE, places_of, set_up
from kit.fabric.stripes import initial_mm
from tests.helpers.balls import chosen, laid_by_value, stash

pytestmark = pytest.mark.bench
SEEDS = range(40)


@pytest.mark.parametrize("mixed", [False, True], ids=["one thickness", "mixed"])
@pytest.mark.parametrize("sharing", ["halve", "pair"])
def test_what_is_left_while_rows_are_missing(sharing, mixed, capsys):
    """In all more rows than joined as they come, and less of the yarn left; with one
    thickness no more than a seventh beside what is kept back of halves."""
    rows, left = {"as they come": 0, "as joined": 0}, []
    for seed in SEEDS:
        yarns = stash(4 + seed % 14, seed, mixed=mixed, least_g=8.0)
        choices = chosen(layout="mirrored", sharing=sharing, length_cm=900, width_cm=60)
        laid = laid_by_value(yarns, choices)
        plain = knit(places_of(laid, choices), Task(choices, set_up(choices.making)))
        fabric = make_fabric(laid, [], choices)
        rows["as they come"] += plain.stripes[-1].last // fabric.stitches
        rows["as joined"] += fabric.rows
        left.append(
            sum(use.left_mm for use in fabric.uses) / sum(map(initial_mm, yarns))
        )
    with capsys.disabled():
        print(
            f"\n{sharing}, {'mixed' if mixed else 'one thickness'}: {rows}, left "
            f"{mean(left):.1%} on average, median {median(left):.1%}"
        )
    assert rows["as joined"] > rows["as they come"]
    if not mixed:
        kept = SECOND_HALF_RESERVE if sharing == "halve" else 0.0
        assert mean(left) < kept + 1 / 7
