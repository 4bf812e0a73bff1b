"""Which yarns the needles desk offers in its lists."""

import pytest

from kit.needles import log_join, where_things_stand
from kit.needles.status import log_row, mark_lost
from kit.widgets.needles.lists import (
    at_hand,
    on_the_needle,
    to_join,
    to_leave_out,
    to_take_in,
)
from tests.helpers.demos import own_demo


def names(offered) -> list[str]:
    return [name for _, name in offered]


@pytest.fixture(scope="module")
def begun(tmp_path_factory):
    """The small demo, its first join made and another ball lost."""
    folder = own_demo(tmp_path_factory.mktemp("begun")).parent / "pram-cover"
    join = where_things_stand(folder).now.joins[0]
    log_join(folder, join.yarn.name, join.planned_row, join.instead_of)
    lost = log_row(folder, 10).now.joins[-1].yarn.name
    return mark_lost(folder, lost), lost


def test_a_lost_ball_is_counted_on_no_more(begun):
    """It is neither joined nor left out, and can still be weighed if it turns up."""
    status, lost = begun
    assert lost not in names(to_join(status)) + names(to_leave_out(status))
    assert names(at_hand(status)).count(lost) == 1


def test_the_next_to_be_joined_stand_first(begun):
    """Those to come stand before those on the needle; all are offered once."""
    status, _ = begun
    coming = {join.yarn.name for join in status.now.joins}
    offered = names(to_join(status))
    assert set(offered[: len(coming)]) == coming
    assert sorted(offered) == sorted(names(to_leave_out(status)))


def test_what_hangs_on_the_needle_is_at_hand_first(begun):
    """The scale mostly sees what is knitted with; every ball of the stash follows."""
    status, _ = begun
    held = names(on_the_needle(status))
    assert set(held) == set(status.now.knitted.held)
    offered = names(at_hand(status))
    assert offered[: len(held)] == held
    assert {yarn.name for yarn in status.blanket.stash.yarns} <= {*offered}
    assert len(offered) == len({*offered})


def test_what_the_plan_has_is_not_taken_in(begun):
    """Only yarns that no row of the plan has can come in addition."""
    status, _ = begun
    strands = status.now.knitted.strands
    planned = {strand.part.yarn.name for strand in strands}
    assert planned.isdisjoint(names(to_take_in(status)))
