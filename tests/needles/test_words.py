"""Where things stand, in sentences: joins to come, and the lines as a whole."""

from dataclasses import replace

from kit.needles.words import coming_join_words, progress_lines
from tests.needles.test_knitted import two_for_one
from tests.needles.test_progress import at, taking


def test_joins_to_come_are_told():
    """With their rows, the planned one and the strand that ends."""
    now = at({"row": "72", "what": "knitted"})
    first = now.joins[0]
    assert (first.yarn.name, first.instead_of, first.planned_row) == (
        "ball 3", "ball 1", 75,
    )  # fmt: skip
    low, high = int(first.row.low), int(first.row.high)
    assert low >= 73
    expected = f'Rows {low} to {high} (planned 75): join {first.yarn.no} "ball 3" in '
    assert coming_join_words(first) == f'{expected}place of "ball 1".'
    one = replace(first, row=replace(first.row, low=75.0, high=75.9), instead_of="")
    assert coming_join_words(one).startswith("Row 75 (planned 75): join ")


def test_two_joined_where_one_ends_are_told_as_such():
    """The second is not told as though the strand ended twice."""
    now = at({"row": "60", "what": "knitted"}, plan=two_for_one())
    one, two = now.joins[:2]
    assert (one.instead_of, two.instead_of) == ("ball 0", "ball 0")
    assert coming_join_words(one).endswith(f'"{one.yarn.name}" in place of "ball 0".')
    assert coming_join_words(two).endswith(
        f'"{two.yarn.name}", together with "{one.yarn.name}", in place of "ball 0".'
    )


def test_what_is_lost_stays_told():
    """Lost and skipped yarns are named as long as they are not counted on."""
    lost = at(
        {"row": "50", "what": "skipped", "yarn": "ball 7"},
        {"row": "60", "what": "lost", "yarn": "ball 5"},
    )
    told = 'Not counted on any more, lost or skipped: "ball 5", "ball 7".'
    assert told in progress_lines(lost)
    calm = progress_lines(at({"row": "60", "what": "knitted"}))
    assert not any("lost or skipped" in line for line in calm)


def test_the_lines_are_calm_and_whole():
    """Row, joins, ends, bind-off, pace, drift: once each."""
    lines = progress_lines(at(*taking(1.1, 60)))
    assert lines[0] == 'Row 60 of 364. On the needle: "ball 0", "ball 1".'
    assert lines[1] == "About 7 rows to the next join:"  # ball 1 may run out first
    assert sum("join " in line for line in lines) == 3
    assert "Ends to weave in: 2 so far, 24 in all." in lines
    assert any(line.startswith("Keep back for the bind-off: ") for line in lines)
    done = progress_lines(at({"row": "364", "what": "knitted"}))
    assert "No joins to come." in done
