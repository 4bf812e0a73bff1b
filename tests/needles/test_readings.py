"""The log's weighings as readings; odd ones are told, with what was done."""

import pytest

from kit.fabric.setup import CAST_ON_ROWS, set_up
from kit.needles.knitted import knitted_by_log
from kit.needles.readings import readings_of, weighed_before
from tests.helpers.coverages import a_plan
from tests.helpers.knitter import as_log
from tests.helpers.plans import balls, planned


def read(*lines, plan=None, units="metric"):
    plan = plan or a_plan()
    yarns = plan.stash.yarns
    log = as_log(lines, yarns)
    knitted = knitted_by_log(plan.fabric, plan.choices, log, yarns)
    return readings_of(log, knitted, yarns, set_up(plan.choices.making), units)


def weighed(yarn, row, grams, day=""):
    cells = {"date": day, "row": str(row), "what": "weighed", "yarn": yarn}
    return {**cells, "grams": str(grams)}


TWO = (weighed("ball 0", 30, 24), weighed("ball 1", 30, 24))


def test_what_a_ball_has_given():
    """Its rows' yarn and the cast-on, by the plan's 2.1 cm a stitch."""
    (one, two), said = read(*TWO)
    # 4.2 / (20 stitches to 10 cm), Munden, fully relaxed; 100 stitches
    assert one.used_m == pytest.approx(2.1 * (30 + CAST_ON_ROWS), abs=0.01)
    assert (one.left_g, two.left_g, said) == (24, 24, [])
    assert one.day == two.day


def test_one_weighing_is_told():
    """It is used, and said to be little."""
    (one,), said = read(TWO[0])
    assert one.left_g == 24
    assert said == [
        "One weighing so far: the pace still leans on the swatch or the estimate. "
        "A second one, some rows on, tells more."
    ]


def test_heavier_than_in_the_stash_is_not_used():
    """A ball does not gain by being knitted; what is heavier than an earlier weighing
    is seen by `without_odd`."""
    found, said = read(TWO[1], weighed("ball 0", 30, 55))
    assert [one.name for one in found] == ["ball 1"]
    assert said[0] == (
        'knitted.csv, row 3 ("ball 0"), grams: 55 g is more than the 40 g in the '
        "stash: not used. Weigh it once more."
    )
    found, said = read(weighed("ball 0", 30, 55))
    assert (found, len(said)) == ((), 1)  # not called one weighing so far


# 0.85 oz are 24.1 g; by the plan 23.3 g of the 40 g are left after row 30.
@pytest.mark.parametrize(
    ("column", "typed", "units", "sentence"),
    [
        (
            "grams",
            0.85,
            "imperial",
            "grams: 0.85 is read as grams, where about 0.82 oz was to be left: not "
            "used. Was it ounces? Then type 0.85 oz.",
        ),
        (
            "grams",
            0.85,
            "metric",
            "grams: 0.85 is read as grams, where about 23.2 g was to be left: not "
            "used. Was it ounces? Then type 0.85 oz.",
        ),
        (
            "ounces",
            24,
            "imperial",
            "ounces: 24 is read as ounces, where about 0.82 oz was to be left: not "
            "used. Was it grams? Then type 24 g.",
        ),
    ],
)
def test_a_number_in_the_other_unit_is_asked_about(column, typed, units, sentence):
    """Far off what was to be left, and near it in the other unit: asked, not used."""
    line = weighed("ball 0", 30, typed)
    line[column] = str(line.pop("grams"))
    found, said = read(line, TWO[1], units=units)
    assert [one.name for one in found] == ["ball 1"]
    assert said[0] == f'knitted.csv, row 2 ("ball 0"), {sentence}'


@pytest.mark.parametrize("grams", [3, 0.3, 12])
def test_a_number_that_fits_neither_unit_is_a_reading(grams):
    """Little is left, but not so little, or not as many ounces: it is used as typed."""
    found, said = read(weighed("ball 0", 30, grams), TWO[1])
    assert [one.left_g for one in found] == [grams, 24]
    assert said == []


def test_a_ball_not_begun_weighed_in_the_other_unit():
    """It is not taken for another ball of 1.4 g, and asked about once."""
    plan = a_plan()
    yarns = plan.stash.yarns
    log = as_log([*TWO, weighed("ball 8", 30, 1.4)], yarns)
    knitted = knitted_by_log(plan.fabric, plan.choices, log, yarns)
    setup = set_up(plan.choices.making)
    assert weighed_before(log, knitted, yarns, setup) == (yarns, log, [])
    found, said = readings_of(log, knitted, yarns, setup, "imperial")
    assert [one.name for one in found] == ["ball 0", "ball 1"]
    assert said == [
        'knitted.csv, row 4 ("ball 8"), grams: 1.4 is read as grams, where about '
        "1.41 oz was to be left: not used. Was it ounces? Then type 1.4 oz."
    ]


def test_an_imperial_blanket_is_told_in_ounces():
    """What is odd is told in the blanket's units, under the column it stands in."""
    ounces = {**weighed("ball 0", 50, ""), "ounces": "1.9"}
    _, said = read(*TWO, ounces, units="imperial")
    assert said == [
        'knitted.csv, row 4 ("ball 0"), ounces: 1.9 oz is more than the 1.41 oz in '
        "the stash: not used. Weigh it once more."
    ]


def test_a_gram_more_is_the_scale():
    """Within what the scale and the air may do it is used, in silence."""
    found, said = read(*TWO, weighed("ball 0", 31, 25))
    assert len(found) == 3
    assert said == []


@pytest.mark.parametrize("grams", [60, 18])
def test_a_ball_not_begun_may_be_weighed_anew(grams):
    """More or less than the stash says, and none of it is knitted: the ball is what
    the scale shows, its metres too, and says nothing of the pace."""
    plan = a_plan()
    yarns, line = plan.stash.yarns, weighed("ball 8", 30, grams)
    log = as_log([*TWO, line], yarns)
    knitted = knitted_by_log(plan.fabric, plan.choices, log, yarns)
    setup = set_up(plan.choices.making)
    after, rest, said = weighed_before(log, knitted, yarns, setup)
    assert [note.yarn for note in rest.notes] == ["ball 0", "ball 1"]
    assert said == [
        f'knitted.csv, row 4 ("ball 8"), grams: {grams} g is not the 40 g of the '
        "stash. Nothing of it was knitted yet, so the new one is used."
    ]
    changed = {
        one.name: two for one, two in zip(yarns, after, strict=True) if one != two
    }
    assert list(changed) == ["ball 8"]
    assert changed["ball 8"].grams == grams
    assert changed["ball 8"].metres == pytest.approx(4.0 * grams)  # 400 m to 100 g
    near = as_log([weighed("ball 8", 30, 41), weighed("ball 0", 30, 18)], yarns)
    knitted = knitted_by_log(plan.fabric, plan.choices, near, yarns)
    assert weighed_before(near, knitted, yarns, setup) == (yarns, near, [])


def test_two_of_a_day_at_two_rows():
    """A row takes half a gram; six less on one day is told, and both are used. On
    another day it is not known what lay between."""
    day, next_day = "2026-03-09", "2026-03-10"
    found, said = read(weighed("ball 0", 30, 24, day), weighed("ball 0", 31, 18, day))
    assert [one.left_g for one in found] == [24, 18]
    assert said == [
        'knitted.csv, row 3 ("ball 0"), grams: 24 g at row 30 and 18 g at row 31 on '
        "one day do not agree, since about 0.5 g is knitted between them. Both are "
        "used. Weigh once more."
    ]
    _, said = read(weighed("ball 0", 30, 24, day), weighed("ball 0", 31, 23, day))
    assert said == []
    _, said = read(weighed("ball 0", 30, 24, day), weighed("ball 0", 36, 18, next_day))
    assert said == []


def test_two_that_disagree_are_one():
    """Their mean is used, and told; two that agree only count double."""
    day = "2026-03-09"
    found, said = read(TWO[1], weighed("ball 0", 30, 24, day),
                       weighed("ball 0", 30, 28, day))  # fmt: skip
    assert [one.left_g for one in found] == [24, 26]
    assert said == [
        'knitted.csv, row 4 ("ball 0"), grams: 24 g and 28 g at one row do not agree; '
        "their mean, 26 g, is used. Weigh once more."
    ]
    found, said = read(TWO[1], weighed("ball 0", 30, 24, day),
                       weighed("ball 0", 30, 25, day))  # fmt: skip
    assert (found[1].left_g, said) == (24.5, [])
    assert found[1].error < found[0].error


def test_a_ball_of_unknown_length_tells_nothing():
    """Told: what it had before is not known."""
    rows = balls(12, grams=(25, 40, 50))
    rows.append({"name": "Blank", "colours": "#777777", "role": "leave out"})
    found, said = read(*TWO, weighed("Blank", 30, 20), plan=planned(rows))
    assert len(found) == 2
    assert said == [
        'knitted.csv, row 4 ("Blank"), grams: what this ball had before is not known: '
        "it tells nothing of pace."
    ]


def test_running_out_is_a_reading():
    """A join in place of a ball that was to run out tells its length."""
    join = {"row": "81", "what": "joined", "yarn": "ball 3", "instead_of": "ball 1"}
    first = {"row": "71", "what": "joined", "yarn": "ball 2"}
    (one,), _ = read(first, join)
    assert (one.name, one.left_g) == ("ball 1", None)
    # 80.5 rows and the cast-on
    assert one.used_m == pytest.approx(2.1 * (80.5 + CAST_ON_ROWS), abs=0.01)


def test_weighed_later_it_has_not_run_out():
    """A rest on the scale wins over what the plan says of its end."""
    join = {"row": "81", "what": "joined", "yarn": "ball 3", "instead_of": "ball 1"}
    first = {"row": "71", "what": "joined", "yarn": "ball 2"}
    found, _ = read(first, join, weighed("ball 1", 90, 6))
    assert [one.left_g for one in found] == [6]
