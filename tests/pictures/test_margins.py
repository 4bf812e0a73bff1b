"""What stands beside a picture of rows: readable, and at the right height."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.blanket.choices import Carry
from kit.pictures.margins import (
    LABEL,
    MOVED,
    RowArea,
    apart,
    changes,
    joins_beside,
    names_of,
    row_ends,
    rows_beside,
    sections_beside,
    strands_beside,
)
from kit.pictures.paper import WIDTH, blank
from kit.yarn import Section
from tests.helpers.fabrics import FOUR, demo, knitted


def texts(sheet, kind):
    """Words and height of what was written, from the top."""
    found = [t for t in sheet.axes.texts if t.get_gid() == kind]
    return sorted((t.get_position()[1], t.get_text()) for t in found)


def area_of(rows, height, first=1):
    return RowArea(170.0, 100.0, 300.0, height, row_ends(np.ones(rows)), first)


@given(
    st.lists(st.floats(0, 500), max_size=40).map(lambda ys: sorted(ys, reverse=True))
)
def test_labels_stand_apart(wanted):
    """In order, a line apart, near their rows, none below the foot; few are lost."""
    placed = apart(wanted, 13.0, 30.0, 500.0)
    assert [k for k, _ in placed] == sorted({k for k, _ in placed})
    for (_, low), (_, high) in pairwise(placed):
        assert low - high >= 13.0 - 1e-6
    for k, y in placed:
        assert abs(y - wanted[k]) <= 30.0 + 1e-6
        assert y <= 500.0 + 1e-6
    if wanted:
        assert placed


def test_labels_with_room_stay_at_their_rows():
    """Where nothing is close nothing is moved or left out."""
    wanted = [400.0, 380.0, 300.0, 100.0]
    assert apart(wanted, 13.0, 30.0, 500.0) == list(enumerate(wanted))


def test_a_crowd_is_thinned_evenly():
    """Of many labels at even distances, those left are spread over all of them."""
    wanted = list(np.linspace(600, 0, 121))
    kept = [k for k, _ in apart(wanted, 13.0, 30.0, 600.0)]
    assert 40 <= len(kept) <= 60
    assert max(np.diff(kept)) < 12
    assert kept[0] == 0
    assert kept[-1] == 120


def test_rows_end_where_their_heights_add_up():
    """Rows are placed by their own heights, from the foot."""
    area = RowArea(0.0, 10.0, 5.0, 60.0, row_ends(np.array([1.0, 2.0, 3.0])))
    assert [area.y(rows) for rows in range(4)] == [70.0, 60.0, 40.0, 10.0]
    part = RowArea(0.0, 10.0, 5.0, 60.0, row_ends(np.ones(4)), first=11)
    assert [part.y(10), part.y(12), part.y(14)] == [70.0, 40.0, 10.0]
    assert [part.y(3), part.y(99)] == [70.0, 10.0]  # what lies outside: at its edge


@pytest.mark.parametrize(
    ("rows", "height", "first"),
    [(450, 600, 1), (3000, 500, 1), (42, 400, 117), (1, 9, 1), (2, 8, 1), (60, 20, 1)],
)
def test_row_numbers_do_not_overlap(rows, height, first):
    """First and last row where there is room, round numbers between, apart."""
    sheet = blank(900)
    rows_beside(sheet, area_of(rows, height, first), 50 if first == 1 else 5)
    found = texts(sheet, "row")
    assert all(two - one >= LABEL - 1e-6 for (one, _), (two, _) in pairwise(found))
    assert found[-1][1] == f"row {first}"
    if height > 100:
        assert found[0][1] == f"row {first + rows - 1}"
        inner = [int(words) for _, words in found[1:-1]]
        assert all(row % (50 if first == 1 else 5) == 0 for row in inner)
        assert len(inner) >= 6


def test_row_numbers_stand_beside_their_rows():
    """Row 50's number stands at the middle of row 50."""
    sheet, area = blank(900), area_of(100, 500)
    rows_beside(sheet, area, 50)
    at = {words: y for y, words in texts(sheet, "row")}
    assert at["50"] - 4 == pytest.approx(600 - 49.5 * 5)


def test_the_middle_stands_beside_its_row():
    """With its row in words and a longer line; no other number crowds it."""
    sheet, area = blank(900), area_of(100, 500)
    rows_beside(sheet, area, 10, [50.0])
    (first, words), (second, row) = texts(sheet, "middle")
    assert (words, row) == ("middle,", "row 50")
    assert first < area.y(50.0) + 4 < second
    numbers = {words: y for y, words in texts(sheet, "row")}
    assert "50" not in numbers and {"40", "60"} <= set(numbers)
    assert max(line.get_linewidth() for line in sheet.axes.lines) > 1


def test_changes_name_what_comes_else_what_goes():
    """Each stripe's new strands by tag and name; where only one ends, that one."""
    plan = knitted()
    first, second, third = plan.fabric.stripes
    yarns = {yarn.name: yarn for yarn in plan.stash.yarns}
    labels = changes(plan.fabric.stripes)
    assert [label.words for label in labels] == [
        "1: 1 Pale + 3 Mist",
        f"{second.first_row}: 2 Mottled",
        f"{third.first_row}: 4 Deep",
    ]
    assert labels[1].rows == second.first / second.row
    assert names_of([yarns["Deep"], yarns["Pale"]]) == "4 Deep + 1 Pale"


def test_changes_of_a_carried_yarn():
    """A yarn carried along is named where it comes in and where it is let go."""
    plan = knitted(
        (*FOUR, "Thread,#ff0000,30,,"), carry=(Carry("Thread", rows=(5, 9)),)
    )
    words = [label.words for label in changes(plan.fabric.stripes)]
    assert "5: 5 Thread" in words
    assert "10: without 5 Thread" in words


def test_join_labels_of_the_demo():
    """Every join of the demo is named: there is room for all, none run over."""
    sheet, plan = blank(900), demo()
    area = area_of(plan.fabric.rows, 720)
    labels = changes(plan.fabric.stripes)
    joins_beside(sheet, area, labels)
    found = texts(sheet, "join")
    assert [words for _, words in reversed(found)] == [label.words for label in labels]
    assert all(two - one >= LABEL - 1e-6 for (one, _), (two, _) in pairwise(found))
    for label, (y, _) in zip(labels, reversed(found), strict=True):
        assert abs(y - 4 - area.y(label.rows)) <= MOVED + 1e-6


def test_long_names_are_cut():
    """A name that has no room ends in an ellipsis."""
    plan = knitted(("Long " * 60 + ",#f0e8d8,12,,", *FOUR[1:]))
    sheet = blank(900)
    joins_beside(sheet, area_of(plan.fabric.rows, 300), changes(plan.fabric.stripes))
    strands_beside(sheet, area_of(plan.fabric.rows, 300), plan.fabric.stripes)
    cuts = [t for t in sheet.axes.texts if t.get_text().endswith("…")]
    assert len(cuts) == 2
    assert all(t.get_position()[0] < WIDTH for t in cuts)


def test_sections_are_named_where_there_is_room():
    """Sections come round in turn; a low one has its bracket without a name."""
    sheet = blank(900)
    sections = (Section("moss stitch", 20), Section("<b>$x$", 2), Section("", 8))
    sections_beside(sheet, area_of(70, 700), sections)
    words = [words for _, words in reversed(texts(sheet, "section"))]
    assert words == ["moss stitch", "<b>$x$", "section"] * 2 + ["moss stitch"]
    tight = blank(900)
    sections_beside(tight, area_of(70, 140), sections)
    assert "<b>$x$" not in [words for _, words in texts(tight, "section")]
    assert len(tight.axes.lines) == 7


def test_strands_of_the_rows_in_view():
    """Only stripes in view have a bracket; a low one has its names on one line."""
    plan = knitted()
    second = plan.fabric.stripes[1]
    sheet = blank(900)
    ends = row_ends(np.ones(4))
    area = RowArea(80.0, 100.0, 300.0, 80.0, ends, second.first_row)
    strands_beside(sheet, area, plan.fabric.stripes)
    words = [words for _, words in texts(sheet, "strands")]
    assert any("2 Mottled" in one for one in words)
    assert not any("Deep" in one for one in words) or second.rows < 4
    assert len(sheet.axes.lines) <= 3
