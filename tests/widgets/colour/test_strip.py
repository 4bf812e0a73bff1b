"""The strip: what a page may say to it, and what it shows."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.arrangement.manual import (
    leave_out,
    manual_order,
    move,
    put_bridge,
    switch_lock,
    switch_tie,
)
from kit.blanket.choices import Judging
from kit.colour import Mix
from kit.colour.steps import largest_step
from kit.widgets.colour.act_words import act_said
from kit.widgets.colour.hands import best_place
from kit.widgets.colour.strip import END, OLDER, Act, Strip
from kit.widgets.colour.strip_rows import (
    line_steps,
    member_rows,
    number_line,
    step_rows,
    yarn_row,
)
from tests.helpers.yarns import drawn, yarn

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
JUDGING = Judging()


@pytest.fixture
def heard():
    return []


@pytest.fixture
def strip(heard):
    shown = Strip(heard.append)
    rows = [yarn_row(one, "stash") for one in drawn(4, 1)]
    shown.show(edition=3, yarns=rows)
    return shown


# --- messages -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "act"),
    [
        ({"act": "move", "yarn": 1, "before": 3}, Act("move", 1, 3)),
        ({"act": "move", "yarn": 1, "before": -1}, Act("move", 1, END)),
        ({"act": "shift", "yarn": 0, "by": -1}, Act("shift", 0, by=-1)),
        ({"act": "out", "yarn": 2}, Act("out", 2)),
        ({"act": "undo", "yarn": "any"}, Act("undo")),
        ({"act": "anew", "way": "value"}, Act("anew", way="value")),
    ],
)
def test_a_message_becomes_an_act(strip, heard, content, act):
    """What a page says is read, acted on and answered with its token."""
    strip.hear({**content, "edition": 3, "token": "t1"})
    assert heard == [act]
    assert strip.answer == "t1"


@pytest.mark.parametrize(
    "content",
    [
        None,
        [],
        "move",
        {},
        {"act": "move", "yarn": 1, "before": 2},  # no edition
        {"act": "move", "yarn": 1, "before": 2, "edition": 2},  # an older page
        {"act": "move", "yarn": 9, "before": 2, "edition": 3},
        {"act": "move", "yarn": -1, "before": 2, "edition": 3},
        {"act": "move", "yarn": 1, "before": -2, "edition": 3},
        {"act": "move", "yarn": "1", "edition": 3},
        {"act": "move", "yarn": True, "edition": 3},
        {"act": "move", "edition": 3},
        {"act": "anew", "way": "rm", "edition": 3},
        {"act": "__init__", "yarn": 1, "edition": 3},
        {"act": ["move"], "yarn": 1, "edition": 3},
        {"act": "anew", "way": ["value"], "edition": 3},
        {"act": "shift", "yarn": 1, "by": 1.5, "edition": 3},
    ],
)
def test_what_makes_no_sense_is_told(strip, heard, content):
    """Nothing is done, the page is told, and it may stop waiting."""
    strip.hear(content)
    assert heard == []
    assert strip.sentences == OLDER


@given(
    st.dictionaries(
        st.sampled_from(("act", "edition", "yarn", "before", "by", "way", "token")),
        st.none()
        | st.integers()
        | st.text(max_size=4)
        | st.sampled_from(("move", "anew", "undo", 3))
        | st.lists(st.integers(), max_size=2),
    )
)
def test_no_message_breaks_it(content):
    """Any message is acted on or told, never an error."""
    heard = []
    strip = Strip(heard.append)
    strip.show(edition=3, yarns=[yarn_row(yarn("a", 50), "stash")])
    strip.hear(content)
    assert heard or strip.sentences == OLDER
    assert all(-1 <= act.yarn < 1 or act.yarn == -2 for act in heard)


def test_a_page_is_answered_whatever_happens(strip):
    """An error of the desk does not leave the page waiting."""

    def breaks(_):
        raise ZeroDivisionError

    strip._act = breaks
    with pytest.raises(ZeroDivisionError):
        strip.hear({"act": "undo", "edition": 3, "token": "t9"})
    assert strip.answer == "t9"


def test_the_page_files_are_there():
    """Plain files beside the class: no build, and nothing from another host."""
    for ending in ("js", "css"):
        text = (Path(str(Strip._esm._path)).with_suffix(f".{ending}")).read_text(
            "utf-8"
        )
        assert "http" not in text
        assert "innerHTML" not in text
        assert "import " not in text.replace("!important", "")


# --- rows -----------------------------------------------------------------------------


def test_colours_are_shown_by_share():
    """A ball of two colours has them as long as their shares, also in greys."""
    mix = Mix(((80, 0, 0), (30, 20, 10)), (3, 1))
    row = yarn_row(yarn("a", mix, role="accent"), "shop")
    assert (row["name"], row["source"], row["accent"]) == ("a", "shop", True)
    for runs in (row["paint"], row["grey"]):
        shares = {}
        for colour, share in runs:
            shares[colour] = shares.get(colour, 0) + share
        assert sum(shares.values()) == pytest.approx(1, abs=1e-3)
        # Runs vary in length by up to 30 % either way, as the yarn does.
        assert max(shares.values()) == pytest.approx(0.75, abs=0.13)
    assert all(c[1:3] == c[3:5] or abs(int(c[1:3], 16) - int(c[3:5], 16)) < 3
               for c, _ in row["grey"])  # fmt: skip


def test_marks_of_the_run():
    """Locks, pairs, bridges (with who put them in) and yarns out of value order."""
    yarns = [yarn("a", 90), yarn("b", 50), yarn("c", 60), yarn("X", 45), yarn("d", 20)]
    hand = manual_order("abcXd", bridges="X", locked=["a", ("b", "c")])
    at = {one.name: k for k, one in enumerate(yarns)}
    rows = member_rows(hand, yarns, at, frozenset(), by_family=False)
    assert [row["yarn"] for row in rows] == [0, 1, 2, 3, 4]
    assert [row["locked"] for row in rows] == [True, False, False, False, False]
    assert [row["tied"] for row in rows] == [False, True, False, False, False]
    assert [row["bridge"] for row in rows] == ["", "", "", "bridge", ""]
    assert [row["late"] for row in rows] == ["", "", "10", "", ""]
    by_family = member_rows(hand, yarns, at, frozenset("X"), by_family=True)
    assert by_family[3]["bridge"] == "bridge, put in by the kit"
    assert {row["late"] for row in by_family} == {""}


def test_steps_of_the_run():
    """Each step has its number, its mark and a sentence that names both yarns."""
    yarns = [yarn("a", 90), yarn("b", 85), yarn("c", 20, role="accent"), yarn("d", 70)]
    yarns += [yarn("e", 10)]
    steps = line_steps(yarns, JUDGING)
    rows = step_rows(yarns, steps)
    assert [row["mark"] for row in rows] == ["", "◆", "◆", "▲"]
    assert [row["loud"] for row in rows] == [False, False, False, True]
    assert rows[0]["words"].startswith(f"a → b: step {steps[0].size:.1f}; lightness")
    assert number_line(yarns, steps, (), "by hand") == (
        f"5 yarns in the run, by hand: largest step {steps[3].size:.1f}, median "
        f"{(steps[0].size + steps[3].size) / 2:.1f}, 0 hue turns over 60°"
    )
    words = number_line(yarns[:2], steps[:1], ["b"], "by value")
    assert words.startswith("1 yarn and 1 bridge in the run, by value:")


@given(st.integers(0, 999), st.booleans())
@settings(max_examples=30)
def test_the_best_place_is_the_best_of_all(seed, inner):
    """Judged by putting the yarn everywhere."""
    *line, new = drawn(6, seed)

    def beside(k):
        run = [*line[:k], new, *line[k:]]
        steps = line_steps(run, JUDGING)[max(k - 1, 0) : k + 1]
        return max(step.size for step in steps)

    places = range(1, 5) if inner else range(6)
    best = best_place(line, new, JUDGING, inner=inner)
    assert best in places
    assert beside(best) == pytest.approx(min(beside(k) for k in places), abs=1e-9)


# --- what is said ---------------------------------------------------------------------


def test_one_yarn_alone_has_no_inner_place():
    """A place all the same: that a bridge needs two sides is told where it is put."""
    one, new = yarn("A", (80, 0, 0)), yarn("B", (60, 0, 0))
    assert best_place([one], new, JUDGING, inner=True) == 0


def test_every_act_is_told_in_words():
    """What was done, and what it did to the largest and the median step."""
    yarns = {one.name: one for one in (yarn("a", 90), yarn("b", 70), yarn("c", 30))}
    yarns |= {"X": yarn("X", 50, role="bridge")}
    hand = manual_order("abc")

    def said(kind, name, old, new):
        return act_said(kind, name, (old, new), yarns, JUDGING)

    moved = move(hand, "a", None)
    was, now = (
        largest_step(line_steps([yarns[n] for n in one.line], JUDGING))
        for one in (hand, moved)
    )
    told = said("move", "a", hand, moved)
    assert told.startswith(
        f"a goes from place 1 to 3. Largest step {was:.1f} to {now:.1f}"
    )
    bridged = put_bridge(hand, "X", "c")
    gap, one, two = (
        line_steps([yarns[n] for n in pair], JUDGING)[0].size
        for pair in ("bc", "bX", "Xc")
    )
    assert said("move", "X", hand, bridged).startswith(
        f"Bridge X between b and c: the step of {gap:.1f} becomes {one:.1f} and "
        f"{two:.1f}."
    )
    assert said("out", "c", bridged, leave_out(bridged, "c")).endswith(
        "X is below again: it bridges nothing here."
    )
    assert said("out", "X", bridged, hand).startswith("X is below again. Largest")
    out = leave_out(hand, "b")
    assert said("out", "b", hand, out).startswith("b is left out.")
    assert said("place", "b", out, hand).startswith("b is back, at place 2.")
    assert said("shift", "a", hand, hand) == "a stays where it is."
    assert (
        said("lock", "a", hand, switch_lock(hand, "a")) == "a is locked in its place."
    )
    assert said("lock", "a", switch_lock(hand, "a"), hand) == "a is free to move."
    tied = switch_tie(hand, "a")
    assert said("tie", "a", hand, tied) == "a stays beside the next."
    assert said("tie", "a", tied, hand) == "a may part from the next."
