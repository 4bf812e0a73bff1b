"""How far off a reading may be: against the published tables, and scipy's rectangle."""

import csv
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from kit.fabric.tolerance import (
    ALLOWANCE,
    Limits,
    allowance,
    buying_margin,
    day_limit,
    dry_limit,
    label_limit,
    pace_doubts,
    standard,
    tne_g,
    together,
)
from kit.yarn import Gauge, Swatch
from tests.helpers.balls import chosen
from tests.helpers.yarns import LABEL, yarn

GOLD = Path(__file__).parents[1] / "gold"


def rows(name):
    lines = (GOLD / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.mark.parametrize("row", rows("prepackage_tne_76_211.csv"), ids=str)
def test_balls_may_be_so_much_too_light(row):
    """The limits T1 and T2 of every nominal mass in the directive's table."""
    nominal = float(row["example_nominal_g"])
    t1, t2 = (float(v) for k, v in row.items() if k.startswith(("T1", "T2")))
    assert nominal - tne_g(nominal) == pytest.approx(t1, abs=0.05)
    assert nominal - 2 * tne_g(nominal) == pytest.approx(t2, abs=0.05)


def test_the_table_has_no_gaps():
    """Where two rows meet they agree, and a heavier ball is never allowed less."""
    for edge in (50, 100, 200, 300, 500, 1000):
        assert tne_g(edge + 1e-4) == pytest.approx(tne_g(edge), abs=0.11)
    found = [tne_g(g) for g in np.linspace(5, 2000, 400)]
    assert found == sorted(found)


@pytest.mark.parametrize(
    "row", rows("moisture_allowance_eu1007_2011_annexIX.csv"), ids=str
)
def test_fibres_hold_their_allowance(row):
    """Every fibre of Annex IX that a label may name, and its ball's dry mass."""
    words = {
        "wool and animal hair, combed": "wool",
        "cotton, normal": "cotton",
        "cotton, mercerised": "mercerised cotton",
        "flax/linen": "linen",
        "nylon, discontinuous (staple)": "nylon",
        "polyester (both)": "polyester",
    }
    # carded wool, filament nylon and metal are not told apart on a ball's paper
    word = words.get(row["fibre"], row["fibre"])
    if word not in dict(ALLOWANCE):
        assert "carded" in word or "filament" in word or "metal" in word
        return
    percent = float(row["allowance_percent"])
    assert allowance(word) == percent
    # printed to hundredths of a gram
    dry = float(row["ball_of_100g_at_allowance_dry_g"])
    assert 100 / (1 + allowance(word) / 100) == pytest.approx(dry, abs=0.005)


def test_dry_wool_weighs_less():
    """A true 100 g ball of wool at 14 % instead of 18.25 % weighs 96.41 g."""
    # Regulation (EU) 1007/2011, Annex IX; regain of wool from 14 %: Morton & Hearle
    ball = yarn("Sage", 60)
    assert 100 / (1 + dry_limit(ball)) == pytest.approx(96.41, abs=0.005)
    # the same air changes cotton by less
    cotton = replace(ball, label=replace(LABEL, fibre="cotton"))
    assert dry_limit(cotton) < dry_limit(ball)
    assert day_limit(cotton) < day_limit(ball) < dry_limit(ball)


def test_mixed_fibres_by_their_shares():
    """Three quarters wool and a quarter nylon; what is not known counts as wool."""
    assert allowance("wool 75 %, nylon 25 %") == 0.75 * 18.25 + 0.25 * 6.25
    assert allowance("unicorn") == 18.25
    assert allowance("silk, wool") == (11 + 18.25) / 2


@pytest.mark.parametrize("limit", [0.02, 1.0, 4.5])
def test_a_limit_is_a_rectangle(limit):
    """Standard uncertainty of a limit either way, as scipy has the rectangle's."""
    assert standard(limit) == pytest.approx(stats.uniform(-limit, 2 * limit).std())


def test_squares_add():
    """Independent doubts of a sum: the closed form, and a drawn sum's spread."""
    doubts = [0.5, 1.2, 0.3]
    assert together(doubts) == pytest.approx(math.sqrt(0.25 + 1.44 + 0.09))
    rng = np.random.default_rng(3)
    drawn = sum(rng.normal(0, one, 200_000) for one in doubts)
    # standard error of a standard deviation: sigma / sqrt(2 n)
    assert drawn.std() == pytest.approx(together(doubts), rel=5 / math.sqrt(400_000))


def test_small_balls_are_less_sure():
    """A leftover of a 50 g ball may be 9 % off, of a 100 g ball 4.5 %; a typical
    length half its class."""
    assert label_limit(yarn("a", 50, grams=30)) == pytest.approx(0.09)
    assert label_limit(yarn("a", 50, grams=80)) == pytest.approx(0.045)
    assert label_limit(yarn("a", 50, grams=250)) == pytest.approx(0.045)
    typical = replace(yarn("a", 50), label=replace(LABEL, typical=True))
    thin, thick = 100_000 / 460, 100_000 / 350  # fingering, 350-460 m per 100 g
    middle = (thin + thick) / 2
    assert label_limit(typical) == pytest.approx((thick - middle) / middle)


def test_a_bigger_swatch_is_surer():
    """Twice as wide and long weighs four times as much: a quarter of the doubt."""
    doubts = []
    for cm, grams in ((10, 5.0), (20, 20.0)):
        making = chosen(gauge=Gauge(20, 30, Swatch(cm, cm, grams))).making
        doubts.append(pace_doubts(making, ())["swatch"])
    assert doubts[0] == pytest.approx(standard(1.0) / 5)
    assert doubts[1] == pytest.approx(doubts[0] / 4)


def test_without_a_swatch_munden_is_doubted():
    """Fifteen per cent either way; no doubt at all where every limit is 0."""
    making = chosen().making
    yarns = [yarn("a", 50)]
    assert pace_doubts(making, yarns)["loop length"] == pytest.approx(0.15 / 3**0.5)
    none = Limits(0, 0, 0, 0, 0, 0, 0)
    assert set(pace_doubts(making, yarns, none).values()) == {0.0}


def test_how_much_more_to_buy():
    """The margin: squares of the doubts added, at the normal's 95th percentile."""
    making = chosen(gauge=Gauge(20, 30, Swatch(15, 15, 9.0))).making
    # 5 % gauge, 1 g of a 9 g swatch, 4.5 % of a 100 g ball (76/211/EEC), as limits
    doubt = (0.05**2 + (1 / 9) ** 2 + 0.045**2) ** 0.5 / 3**0.5
    expected = stats.norm.ppf(0.95) * doubt
    assert buying_margin(making) == pytest.approx(expected, rel=1e-3)
    assert buying_margin(replace(making, gauge=Gauge(20, 30))) > buying_margin(making)
