"""Strands as chains: who waits for whom, and sums and ratios in closed form."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from kit.fabric.posterior import normal_prior
from kit.fabric.setup import set_up
from kit.fabric.strand_chains import knit_drawn, prior, strands_of
from kit.fabric.tolerance import Limits, standard
from tests.helpers.coverages import a_plan
from tests.helpers.plans import balls, planned, toml

EXACT = Limits(0, 0, 0, 0, 0, 0, 0)


def chain(plan):
    lengths = set_up(plan.choices.making).lengths
    yarns = [use.yarn for use in plan.fabric.uses]
    return strands_of(plan.fabric, plan.choices), yarns, lengths


def path_to(strands, k):
    """The strands before `k`, back to the cast-on edge."""
    while True:
        yield strands[k]
        if not strands[k].after:
            return
        (k,) = strands[k].after


def test_a_strand_waits_for_the_one_it_stands_for():
    """Every strand but those cast on joins where another ends, in the plan too."""
    strands, _, _ = chain(a_plan())
    for strand in strands:
        ends = [strands[k].last for k in strand.after]
        assert ends == [strand.first] if strand.first else not ends
    assert [one.kind for one in strands].count("bind off") == 2


def test_without_doubt_it_is_the_plan():
    """Every strand ends within what is left on the ball that runs out (under 2 m)."""
    plan = planned(balls(12, grams=(25, 40, 50)), toml(length=100))
    strands, yarns, lengths = chain(plan)
    posterior = prior(yarns, plan.choices, EXACT)
    assert not posterior.covariance.any()
    knits = knit_drawn(strands, posterior, lengths, n=4)
    slack = 0.0
    for k, strand in enumerate(strands):
        if strand.kind in ("break off", "runs out"):
            planned_m = lengths.mm_at(strand.last) / 1000
            slack += strand.part.left_mm / 1000 * (strand.kind == "runs out")
            assert planned_m - 1e-9 <= knits.ends[0, k] <= planned_m + slack + 1e-9


def test_lengths_add_up():
    """With the balls alone in doubt a run-out is a sum: its spread in closed form."""
    plan = planned(balls(9, grams=(40,)), toml('[strands]\nleast = 1\nmost = 1\n'
                                             'fabric_tex = 250\n'))  # fmt: skip
    strands, yarns, lengths = chain(plan)
    only = replace(EXACT, label=1.0)
    knits = knit_drawn(strands, prior(yarns, plan.choices, only), lengths, n=20_000)
    chain_of = list(path_to(strands, len(strands) - 1))
    summed = [s for s in chain_of if s.kind != "break off"]
    assert len(summed) >= 8  # all but the first, which is begun with half its ball
    # a label of a 50 g ball: 9 % either way of 160 m
    spread = standard(0.09) * 160 * len(summed) ** 0.5
    ends = knits.ends[:, len(strands) - 1]
    assert ends.std() == pytest.approx(spread, rel=0.03)
    middle = stats.norm(ends.mean(), spread)
    assert stats.kstest(ends[:2000], middle.cdf).pvalue > 0.001


def test_a_pace_divides():
    """With the pace alone in doubt a run-out is a ratio: its quantiles exactly."""
    plan = a_plan()
    strands, yarns, lengths = chain(plan)
    balls_alone = prior(yarns, plan.choices, EXACT)
    posterior = normal_prior(0.08, balls_alone.balls)
    knits = knit_drawn(strands, posterior, lengths, n=40_000)
    k = next(k for k, s in enumerate(strands) if s.kind == "runs out" and not s.after)
    strand = strands[k]
    usable_m = (strand.part.mm - strand.part.kept_mm) / 1000
    for share in (0.05, 0.5, 0.95):
        expected = usable_m / (1 + stats.norm.ppf(1 - share) * 0.08)
        # standard error of such a quantile is under 0.1 % of it here
        assert np.quantile(knits.ends[:, k], share) == pytest.approx(expected, rel=4e-3)


def test_what_is_known_is_kept():
    """Balls on the needle cannot have run out before the row that is reached."""
    plan = a_plan()
    strands, yarns, lengths = chain(plan)
    posterior = prior(yarns, plan.choices)
    now = strands[1].last + 5 * lengths.stitches  # five rows past its planned end
    begun = [replace(s, begun=0) if not s.after else s for s in strands]
    before = knit_drawn(begun, posterior, lengths)
    after = knit_drawn(begun, posterior, lengths, now=now)
    now_m = lengths.mm_at(now) / 1000
    assert after.ends[:, 1].min() >= now_m
    assert after.pace.mean() < before.pace.mean()  # so a stitch takes less
    assert 50 <= len(after.pace) < len(before.pace)


def test_the_same_seed_draws_the_same():
    """And another seed does not."""
    strands, yarns, lengths = chain(a_plan())
    posterior = prior(yarns, a_plan().choices)
    one, two = (knit_drawn(strands, posterior, lengths, n=50) for _ in range(2))
    other = knit_drawn(strands, posterior, lengths, n=50, seed=3)
    np.testing.assert_array_equal(one.ends, two.ends)
    assert (one.ends != other.ends).any()


def test_parts_are_wound_by_the_scale():
    """What is wound off for later is known to a gram, so the first part is too."""
    plan = planned(balls(7, grams=(40,)), toml('[colours]\nlayout = "mirrored"\n'))
    strands, yarns, lengths = chain(plan)
    knits = knit_drawn(strands, prior(yarns, plan.choices, EXACT), lengths, n=500)
    parted = [
        k for k, s in enumerate(strands) if s.part.n_parts == 2 and s.kind == "runs out"
    ]
    assert parted
    for k in parted:
        spent = knits.ends[:, k] - knits.joins[:, k]
        # a gram either way on the scale, of a yarn with 4 m to the gram
        assert spent.std() == pytest.approx(4 * standard(1.0), rel=0.1)


def test_carried_yarns_keep_their_rows():
    """A carried yarn waits for no one and ends at its own row or where it runs out."""
    mist = {"name": "Mist", "colours": "#c0c4c8", "grams": 9, "metres_per_100g": 800}
    text = toml('[[carry]]\nyarn = "Mist"\nrows = [3, 40]\n')
    strands, yarns, lengths = chain(planned([*balls(8), mist], text))
    (k,) = [k for k, s in enumerate(strands) if s.carried]
    assert strands[k].after == ()
    plan = planned([*balls(8), mist], text)
    knits = knit_drawn(strands, prior(yarns, plan.choices), lengths)
    assert (knits.joins[:, k] == lengths.mm_at(2 * lengths.stitches) / 1000).all()
    assert knits.ends[:, k].max() <= lengths.mm_at(40 * lengths.stitches) / 1000
